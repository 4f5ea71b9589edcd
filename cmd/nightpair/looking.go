package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"time"

	"golang.org/x/term"

	"nightpair/qc/measure"
)

// looking shows how asking files goes on: on a terminal as a line that is redrawn, in a log
// from time to time, and nothing of what is done at once.
type looking struct {
	w        io.Writer
	quiet    bool
	json     bool
	terminal bool
	said     time.Time
	drawn    bool
}

// silentFor is how long asking may take before a log hears of it.
const silentFor = 10 * time.Second

func (a *app) looking(w io.Writer) *looking {
	l := &looking{w: w, quiet: a.quiet, json: a.json, said: time.Now()}
	if file, ok := w.(*os.File); ok {
		l.terminal = term.IsTerminal(int(file.Fd()))
	}
	return l
}

// whatIsAsked says what is done with files to answer a question.
var whatIsAsked = map[measure.Question]string{
	measure.AskTags:     "reading tags",
	measure.AskSound:    "listening",
	measure.AskPictures: "looking",
}

// show tells of one more answer.
func (l *looking) show(question measure.Question, done, files int) {
	every := silentFor
	if l.terminal && !l.json {
		every = redrawEvery
	}
	if l.quiet || time.Since(l.said) < every {
		return
	}
	l.said = time.Now()
	text := fmt.Sprintf("%s: %d of %d files", whatIsAsked[question], done, files)
	switch {
	case l.json:
		json.NewEncoder(l.w).Encode(struct {
			Event string `json:"event"`
			Done  int    `json:"done"`
			Files int    `json:"files"`
		}{whatIsAsked[question], done, files})
	case l.terminal:
		l.drawn = true
		fmt.Fprint(l.w, eraseLine, text)
	default:
		fmt.Fprintln(l.w, "nightpair: "+text)
	}
}

func (l *looking) close() {
	if l.drawn {
		fmt.Fprint(l.w, eraseLine)
	}
}
