package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"time"

	"golang.org/x/term"

	"nightpair/qc"
)

// display shows how a night goes on.
type display interface {
	show(qc.Progress)
	close()
}

func (a *app) display(w io.Writer) display {
	switch {
	case a.quiet:
		return silence{}
	case a.json:
		return jsonLines{json.NewEncoder(w)}
	}
	if file, ok := w.(*os.File); ok && term.IsTerminal(int(file.Fd())) {
		return &liveLine{w: file}
	}
	return &plainLines{w: w}
}

// silence shows nothing.
type silence struct{}

func (silence) show(qc.Progress) {}
func (silence) close()           {}

// plainLines writes a line for each clip, for logs.
type plainLines struct {
	w    io.Writer
	kept int
}

func (p *plainLines) show(now qc.Progress) {
	switch now.Event {
	case qc.ClipStarted, qc.ClipMoment:
	case qc.ClipKept:
		p.kept++
	default:
		p.tellKept()
		fmt.Fprintf(p.w, "nightpair: %d of %d clips, %s: %s%s\n", now.Done, now.Clips, printable(now.Clip), outcome(now), pace(now))
	}
}

func (p *plainLines) close() { p.tellKept() }

// tellKept says in one line how many clips need no measuring.
func (p *plainLines) tellKept() {
	if p.kept > 0 {
		fmt.Fprintf(p.w, "nightpair: measured before: %d\n", p.kept)
		p.kept = 0
	}
}

// outcome says what became of a clip.
func outcome(p qc.Progress) string {
	if p.Problem != "" {
		return printable(p.Problem)
	}
	return string(p.Event)
}

// pace says how fast it goes and how long it will take, as far as is known.
func pace(p qc.Progress) string {
	text := ""
	if rate := p.Rate(); rate > 0 {
		text = fmt.Sprintf(", %.3g moments/s", rate)
	}
	if remaining, known := p.Remaining(); known && p.Done < p.Clips {
		text += ", " + about(remaining) + " to go"
	}
	return text
}

// about writes a duration as one tells it.
func about(d time.Duration) string {
	minutes := int(math.Round(d.Minutes()))
	switch {
	case d < 90*time.Second:
		return fmt.Sprintf("%.0f s", d.Seconds())
	case minutes < 90:
		return fmt.Sprintf("%d min", minutes)
	default:
		return fmt.Sprintf("%d h %02d min", minutes/60, minutes%60)
	}
}

// liveLine redraws one line of a terminal, and leaves a line for each clip
// that could not be measured.
type liveLine struct {
	w     *os.File
	drawn time.Time
	used  bool
}

// redrawEvery keeps the terminal from being what the night waits for.
const redrawEvery = 100 * time.Millisecond

const eraseLine = "\r\x1b[K"

func (l *liveLine) show(now qc.Progress) {
	switch now.Event {
	case qc.ClipFailed, qc.ClipLate:
		fmt.Fprintf(l.w, "%snightpair: %s: %s\n", eraseLine, printable(now.Clip), printable(now.Problem))
	case qc.ClipMoment, qc.ClipKept:
		if time.Since(l.drawn) < redrawEvery {
			return
		}
	}
	l.drawn = time.Now()
	l.used = true
	line := []rune(fmt.Sprintf("%d of %d clips%s, %s", now.Done, now.Clips, pace(now), printable(now.Clip)))
	if width, _, err := term.GetSize(int(l.w.Fd())); err == nil && width > 0 && len(line) >= width {
		line = line[:width-1]
	}
	fmt.Fprint(l.w, eraseLine, string(line))
}

func (l *liveLine) close() {
	if l.used {
		fmt.Fprint(l.w, eraseLine)
	}
}

// jsonLines writes every event as a JSON object on a line of its own.
type jsonLines struct{ *json.Encoder }

func (j jsonLines) show(p qc.Progress) {
	line := struct {
		Event     qc.Event `json:"event"`
		Clip      string   `json:"clip"`
		Problem   string   `json:"problem,omitempty"`
		Clips     int      `json:"clips"`
		Done      int      `json:"done"`
		Kept      int      `json:"kept"`
		Failed    int      `json:"failed"`
		Moments   int      `json:"moments"`
		Planned   int      `json:"planned"`
		Elapsed   float64  `json:"elapsed_seconds"`
		Rate      float64  `json:"moments_per_second"`
		Remaining *float64 `json:"left_seconds"` // null when it is not known
	}{
		Event: p.Event, Clip: p.Clip, Problem: p.Problem,
		Clips: p.Clips, Done: p.Done, Kept: p.Kept, Failed: p.Failed,
		Moments: p.Moments, Planned: p.Planned,
		Elapsed: p.Elapsed.Seconds(), Rate: p.Rate(),
	}
	if remaining, known := p.Remaining(); known {
		seconds := remaining.Seconds()
		line.Remaining = &seconds
	}
	j.Encode(line)
}

func (jsonLines) close() {}
