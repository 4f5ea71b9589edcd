package decode

import (
	"strings"
	"sync"
)

// Remark is something worth telling about a file, most often a line of FFmpeg's
// log, with the number of times it came.
type Remark struct {
	Text  string
	Count int
}

// maxNotes keeps a badly damaged file from filling a report; the project's
// own choice.
const maxNotes = 40

const otherNotes = "further messages of other kinds"

// notebook counts notes. Lines that differ in their digits alone, such as
// positions, count as one and show the first. It serves many goroutines, since
// decoders log from threads of their own.
type notebook struct {
	mu     sync.Mutex
	order  []string
	notes  map[string]*Remark
	errors int // error lines, muted or not
	broken int // those among them that tell of damaged data beyond doubt
	muted  bool
}

// log takes a line as FFmpeg writes it; serious says that it is an error, not
// a warning.
func (n *notebook) log(item, line string, serious bool) {
	line = strings.TrimSpace(line)
	if line == "" {
		return
	}
	// The name of an open file is a path, which has no place in a note.
	if item != "" && !strings.ContainsAny(item, "/\\") {
		line = item + ": " + line
	}
	n.mu.Lock()
	defer n.mu.Unlock()
	if serious {
		n.errors++
		if strings.Contains(line, "error while decoding MB") || strings.Contains(line, "Invalid NAL unit size") {
			n.broken++
		}
	}
	if !n.muted {
		n.add(line)
	}
}

// mute keeps lines of the log from becoming notes while they are our doing and
// not the file's.
func (n *notebook) mute(on bool) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.muted = on
}

// tell adds a note of our own.
func (n *notebook) tell(text string) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.add(text)
}

func (n *notebook) add(text string) {
	text = strings.ToValidUTF8(text, "\uFFFD")
	key := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return -1
		}
		return r
	}, text)
	if n.notes == nil {
		n.notes = map[string]*Remark{}
	}
	if n.notes[key] == nil && len(n.order) >= maxNotes {
		key, text = otherNotes, otherNotes
	}
	if n.notes[key] == nil {
		n.notes[key] = &Remark{Text: text}
		n.order = append(n.order, key)
	}
	n.notes[key].Count++
}

// list gives the notes in the order in which they first came.
func (n *notebook) list() []Remark {
	n.mu.Lock()
	defer n.mu.Unlock()
	out := make([]Remark, 0, len(n.order))
	for _, key := range n.order {
		out = append(out, *n.notes[key])
	}
	return out
}

// complaints counts the error lines so far, and those of them that can only
// come from damaged data.
func (n *notebook) complaints() (errors, broken int) {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.errors, n.broken
}

// mentions says whether a note holds text.
func (n *notebook) mentions(text string) bool {
	for _, note := range n.list() {
		if strings.Contains(note.Text, text) {
			return true
		}
	}
	return false
}
