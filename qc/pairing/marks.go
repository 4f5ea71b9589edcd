package pairing

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"nightpair/qc/record"
)

// side is the eye that a mark names.
type side uint8

const (
	noSide side = iota
	leftSide
	rightSide
)

func (s side) String() string {
	return [...]string{"other", "left", "right"}[s]
}

func (s side) other() side {
	return [...]side{noSide, rightSide, leftSide}[s]
}

// span is a part of a path, in bytes.
type span struct{ start, end int }

func (s span) none() bool { return s.start == s.end }

// mark is a word in a path that names an eye.
type mark struct {
	span
	side   side
	inName bool // in the file's name rather than in a folder's
}

// maxMarks bounds the ways to read one path; of more marks the last count.
const maxMarks = 5

// markWords are the words that name an eye.
var markWords = map[string]side{
	"l": leftSide, "left": leftSide, "lefteye": leftSide,
	"r": rightSide, "right": rightSide, "righteye": rightSide,
}

// marks returns the marks of the eyes in the path, in their order. A single
// letter must stand between signs that are neither letters nor digits, a word
// between signs that are no letters: left01 is marked, L001 is not.
func (e element) marks() []mark {
	var found []mark
	stem := e.stem()
	nameAt := strings.LastIndexByte(stem, filepath.Separator) + 1
	at := len(filepath.VolumeName(stem))
	for at < len(stem) {
		r, size := utf8.DecodeRuneInString(stem[at:])
		if !unicode.IsLetter(r) {
			at += size
			continue
		}
		start := at
		for at < len(stem) {
			r, size = utf8.DecodeRuneInString(stem[at:])
			if !unicode.IsLetter(r) {
				break
			}
			at += size
		}
		if start < e.number.end && at > e.number.start {
			continue // the d of %04d
		}
		s := markWords[strings.ToLower(stem[start:at])]
		if s == noSide || at-start == 1 && (digitBefore(stem, start) || digitAfter(stem, at)) {
			continue
		}
		found = append(found, mark{span{start, at}, s, start >= nameAt})
	}
	return found[max(0, len(found)-maxMarks):]
}

func digitBefore(s string, at int) bool {
	r, _ := utf8.DecodeLastRuneInString(s[:at])
	return unicode.IsNumber(r)
}

func digitAfter(s string, at int) bool {
	r, _ := utf8.DecodeRuneInString(s[at:])
	return unicode.IsNumber(r)
}

// side returns the eye that the element's marks name, in the file's name if
// there are any there; none where they contradict one another.
func (e element) side() side {
	marks := e.marks()
	if i := slices.IndexFunc(marks, func(m mark) bool { return m.inName }); i >= 0 {
		marks = marks[i:]
	}
	if len(marks) == 0 {
		return noSide
	}
	for _, m := range marks {
		if m.side != marks[0].side {
			return noSide
		}
	}
	return marks[0].side
}

// expectedMate returns the path at which the element's mate would be, going by
// all marks that name the same eye.
func (e element) expectedMate() string {
	var b strings.Builder
	at := 0
	want := e.side()
	for _, m := range e.marks() {
		if m.side != want && want != noSide {
			continue
		}
		b.WriteString(e.path[at:m.start])
		b.WriteString(opposite(e.path[m.start:m.end], m.side))
		at = m.end
	}
	b.WriteString(e.path[at:])
	return b.String()
}

// opposite returns the word for the other eye in the same style.
func opposite(word string, s side) string {
	lower := strings.ToLower(word)
	out := "r"
	switch {
	case s == rightSide && len(word) == 1:
		out = "l"
	case s == rightSide:
		out = "left" + strings.TrimPrefix(lower, "right")
	case len(word) > 1:
		out = "right" + strings.TrimPrefix(lower, "left")
	}
	switch {
	case word == strings.ToUpper(word):
		return strings.ToUpper(out)
	case word[:1] == strings.ToUpper(word[:1]):
		return strings.ToUpper(out[:1]) + out[1:]
	}
	return out
}

// reading is one way to understand a path: these of its marks name the eye,
// and key is what remains without them.
type reading struct {
	key   string
	side  side
	marks []mark
}

// pathReadings returns every way to read marks of one eye anywhere in a path.
func pathReadings(e element) []reading {
	return e.readings(e.marks(), 0)
}

// nameReadings returns every way to read marks in a file's name alone, whatever
// folder it is in.
func nameReadings(e element) []reading {
	marks := slices.DeleteFunc(e.marks(), func(m mark) bool { return !m.inName })
	return e.readings(marks, strings.LastIndexByte(e.path, filepath.Separator)+1)
}

func (e element) readings(marks []mark, from int) []reading {
	var all []reading
	for set := 1; set < 1<<len(marks); set++ {
		r := reading{}
		var b strings.Builder
		at := from
		consistent := true
		for i, m := range marks {
			if set&(1<<i) == 0 {
				continue
			}
			consistent = consistent && (r.side == noSide || r.side == m.side)
			r.side = m.side
			r.marks = append(r.marks, m)
			b.WriteString(e.without(span{at, m.start}))
			b.WriteByte(0) // no path holds it
			at = m.end
		}
		if !consistent {
			continue
		}
		b.WriteString(e.without(span{at, len(e.stem())}))
		// Some systems write é as one character, others as two.
		r.key = norm.NFC.String(b.String())
		all = append(all, r)
	}
	return all
}

// without returns a part of the path with the number of the pictures, if it is
// in there, replaced by a sign that does not tell its width.
func (e element) without(s span) string {
	if e.number.none() || e.number.start < s.start || e.number.end > s.end {
		return e.path[s.start:s.end]
	}
	return e.path[s.start:e.number.start] + "\x00%" + e.path[e.number.end:s.end]
}

// link says that two elements, given by their index, could be the eyes of one
// clip, and by which marks.
type link struct {
	left, right           int
	leftMarks, rightMarks []mark
}

// group is a set of elements held together by links; a lone element has none.
type group struct {
	members []int // ascending
	links   []link
}

// mates groups elements that could be one another's mates, in the order of
// their first members.
func mates(elements []element, read func(element) []reading) []group {
	type sighting struct {
		element int
		reading
	}
	byKey := map[string][]sighting{}
	var keys []string
	for i, e := range elements {
		for _, r := range read(e) {
			if byKey[r.key] == nil {
				keys = append(keys, r.key)
			}
			byKey[r.key] = append(byKey[r.key], sighting{i, r})
		}
	}
	parent := make([]int, len(elements))
	for i := range parent {
		parent[i] = i
	}
	find := func(i int) int {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	var links []link
	for _, key := range keys {
		for _, l := range byKey[key] {
			for _, r := range byKey[key] {
				if l.side != leftSide || r.side != rightSide || l.element == r.element {
					continue
				}
				links = append(links, link{l.element, r.element, l.marks, r.marks})
				a, b := find(l.element), find(r.element)
				parent[max(a, b)] = min(a, b)
			}
		}
	}
	at := make(map[int]int)
	var groups []group
	for i := range elements {
		root := find(i)
		if _, ok := at[root]; !ok {
			at[root] = len(groups)
			groups = append(groups, group{})
		}
		g := &groups[at[root]]
		g.members = append(g.members, i)
	}
	for _, l := range links {
		g := &groups[at[find(l.left)]]
		g.links = append(g.links, l)
	}
	return groups
}

// acrossFolders pairs single files of which only the names are marked and
// which lie in two folders of different names, as when each camera has its own
// card. It does so only where the one folder holds nothing but left eyes and
// the other nothing but right ones. It returns the rest, of which some are
// clips with a Problem already.
func acrossFolders(all, singles []element) ([]draft, []element) {
	// pure holds the eye of the folders that hold one eye only.
	pure := map[string]side{}
	single := map[string]bool{}
	for _, e := range singles {
		single[e.path] = true
	}
	for _, e := range all {
		folder := filepath.Dir(e.path)
		s := e.nameSide()
		if !single[e.path] {
			s = noSide
		}
		if before, ok := pure[folder]; ok && before != s {
			s = noSide
		}
		pure[folder] = s
	}
	var drafts []draft
	var rest []element
	for _, g := range mates(singles, nameReadings) {
		if len(g.members) == 1 {
			rest = append(rest, singles[g.members[0]])
			continue
		}
		l := g.links[0]
		left, right := filepath.Dir(singles[l.left].path), filepath.Dir(singles[l.right].path)
		if len(g.members) == 2 && pure[left] == leftSide && pure[right] == rightSide {
			drafts = append(drafts, pairOf(singles, l, fmt.Sprintf(" in the folders %s and %s", left, right)))
			continue
		}
		for _, i := range g.members {
			var others []string
			for _, l := range g.links {
				switch i {
				case l.left:
					others = append(others, singles[l.right].path)
				case l.right:
					others = append(others, singles[l.left].path)
				}
			}
			slices.Sort(others)
			others = slices.Compact(others)
			more := ""
			if len(others) > 3 {
				more = fmt.Sprintf(" and %d more", len(others)-3)
				others = others[:3]
			}
			drafts = append(drafts, singles[i].orphan(fmt.Sprintf(
				"no mate beside it, but in other folders: %s%s; list in %s what belongs together",
				strings.Join(others, ", "), more, ManifestName)))
		}
	}
	return drafts, rest
}

// nameSide returns the eye that the file's name alone says.
func (e element) nameSide() side {
	if s := e.side(); s != noSide && slices.ContainsFunc(e.marks(), func(m mark) bool { return m.inName }) {
		return s
	}
	return noSide
}

// describe says by which marks two elements were paired.
func describe(left, right element, leftMarks, rightMarks []mark) string {
	var parts []string
	for i, m := range leftMarks {
		n := rightMarks[i]
		kind := "folders"
		a, b := left.component(m.span), right.component(n.span)
		if m.inName {
			kind = "marks"
			a, b = left.withSeparator(m.span), right.withSeparator(n.span)
		}
		part := fmt.Sprintf("%s %s and %s", kind, a, b)
		if !slices.Contains(parts, part) {
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, ", ")
}

// component returns the folder's name that holds the span.
func (e element) component(s span) string {
	start := strings.LastIndexByte(e.path[:s.start], filepath.Separator) + 1
	end := strings.IndexByte(e.path[s.end:], filepath.Separator)
	if end < 0 {
		return e.path[start:]
	}
	return e.path[start : s.end+end]
}

// withSeparator returns the span with the sign that parts it from the rest of
// the name: the one before it or, at the start, the one behind.
func (e element) withSeparator(s span) string {
	switch stem := e.stem(); {
	case parts(stem, s.start-1):
		return strings.TrimSpace(stem[s.start-1 : s.end])
	case parts(stem, s.end):
		return strings.TrimSpace(stem[s.start : s.end+1])
	}
	return e.path[s.start:s.end]
}

// packingMark returns what the file's name says of both eyes in one file, and
// by which mark; where it says several things, no packing and all marks.
func (e element) packingMark() (record.Packing, string) {
	name := filepath.Base(e.stem())
	var found []record.Packing
	var marks []string
	for _, a := range record.Packings {
		if a.Mark == nil {
			continue
		}
		if mark := a.Mark.FindStringSubmatch(name); mark != nil {
			found, marks = append(found, a.Name), append(marks, mark[1])
		}
	}
	if len(found) == 1 {
		return found[0], marks[0]
	}
	return "", strings.Join(marks, " and ")
}
