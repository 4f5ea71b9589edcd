package pairing

import (
	"cmp"
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"nightpair/qc/takes"
)

// inShootingOrder sorts the shots of one camera: within a folder by the counters in the names,
// and folders by the first time that their files tell. A counter that begins again after its
// last number, and names that are no counter, give way to the times.
func inShootingOrder(shots []shot) {
	folders := map[string][]shot{}
	for _, s := range shots {
		folder := filepath.Dir(s.path)
		folders[folder] = append(folders[folder], s)
	}
	var list [][]shot
	timed := true
	for _, members := range folders {
		slices.SortFunc(members, func(a, b shot) int {
			return cmp.Or(naturally(a.counter(), b.counter()), cmp.Compare(a.path, b.path))
		})
		byTimes(members)
		list = append(list, members)
		timed = timed && !math.IsNaN(began(members))
	}
	slices.SortFunc(list, func(a, b []shot) int {
		byPath := naturally(a[0].path, b[0].path)
		if timed {
			return cmp.Or(cmp.Compare(began(a), began(b)), byPath)
		}
		return byPath
	})
	at := 0
	for _, members := range list {
		at += copy(shots[at:], members)
	}
}

// began returns when the first shot of a folder was taken, NaN where no file tells.
func began(shots []shot) float64 {
	for _, s := range shots {
		if t := s.take(); !math.IsNaN(t.Created) {
			return t.Created
		}
	}
	for _, s := range shots {
		if t := s.take(); !math.IsNaN(t.Timecode) {
			return t.Timecode
		}
	}
	return math.NaN()
}

// byTimes sorts shots by the camera's clock where the order of their names has little to do
// with it, or where the counter began again.
func byTimes(shots []shot) {
	backwards := 0
	for i := 1; i < len(shots); i++ {
		if math.IsNaN(shots[i].take().Created) {
			return
		}
		if shots[i].told.Source.Created.Before(shots[i-1].told.Source.Created) {
			backwards++
		}
	}
	if len(shots) < 2 {
		return
	}
	const often = 0.2
	around := backwards == 1 && counterEnds.MatchString(shots[len(shots)-1].stem()) &&
		shots[len(shots)-1].told.Source.Created.Before(shots[0].told.Source.Created)
	if around || float64(backwards) > often*float64(len(shots)-1) {
		slices.SortStableFunc(shots, func(a, b shot) int { return a.told.Source.Created.Compare(b.told.Source.Created) })
	}
}

// counterEnds matches names with the last numbers of a counter.
var counterEnds = regexp.MustCompile(`(?:^|\D)9{2,}\d?\D*$`)

// naturally compares texts with numbers in them by the numbers' values.
func naturally(a, b string) int {
	for a != "" && b != "" {
		da, db := digits(a), digits(b)
		if da == "" || db == "" {
			if a[0] != b[0] {
				return cmp.Compare(a[0], b[0])
			}
			a, b = a[1:], b[1:]
			continue
		}
		na, nb := strings.TrimLeft(da, "0"), strings.TrimLeft(db, "0")
		if c := cmp.Or(cmp.Compare(len(na), len(nb)), cmp.Compare(na, nb)); c != 0 {
			return c
		}
		a, b = a[len(da):], b[len(db):]
	}
	return cmp.Compare(len(a), len(b))
}

func digits(s string) string {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return s[:n]
}

// chapterFirst matches names in which the number of a chapter comes before that of the take:
// two letters, two digits, four digits. The first chapter of some is called otherwise.
var (
	chapterFirst = regexp.MustCompile(`^(G[A-Z])(\d\d)(\d{4})$`)
	firstChapter = regexp.MustCompile(`^GOPR(\d{4})$`)
	chapterLast  = regexp.MustCompile(`^(.*\d)[_-](\d{1,3})$`)
)

// counter returns the name by which shots come in their order: with a chapter's number behind
// the take's.
func (s shot) counter() string {
	name := filepath.Base(s.stem())
	if m := chapterFirst.FindStringSubmatch(strings.ToUpper(name)); m != nil {
		return m[3] + "/" + m[2]
	}
	if m := firstChapter.FindStringSubmatch(strings.ToUpper(name)); m != nil {
		return m[1] + "/00"
	}
	return name
}

// take is one take of a camera with its chapters, mostly one.
type take struct {
	chapters []shot
}

// inTakes puts shots in their order together to takes. Cameras part long takes when a file
// grows too large: then names say so, or both clocks run on.
func inTakes(shots []shot) []take {
	var list []take
	for _, s := range shots {
		if n := len(list); n > 0 {
			t := &list[n-1]
			if s.continues(t.chapters[len(t.chapters)-1]) {
				t.chapters = append(t.chapters, s)
				continue
			}
		}
		list = append(list, take{[]shot{s}})
	}
	return list
}

// continues reports whether a shot is the next chapter of the take that the one before it is
// of.
func (s shot) continues(before shot) bool {
	if filepath.Dir(s.path) != filepath.Dir(before.path) {
		return false
	}
	const frames, seconds = 0.1, 2.5
	t, b := s.take(), before.take()
	if b.Length == 0 {
		return false
	}
	labels := t.Timecode - b.Timecode - b.Length
	clock := t.Created - b.Created - b.Length
	if math.Abs(labels) < frames && math.Abs(clock) < seconds {
		return true
	}
	runsOn := math.Abs(labels) < frames || math.IsNaN(labels) && math.Abs(clock) < seconds
	// Some enter the take's own beginning into each chapter.
	same := t.Created == b.Created || math.IsNaN(clock)
	own, of := s.counter(), before.counter()
	if take, chapter, ok := strings.Cut(own, "/"); ok {
		other, earlier, _ := strings.Cut(of, "/")
		return take == other && naturally(chapter, earlier) > 0 && (runsOn || same && (math.IsNaN(labels) || t.Timecode == b.Timecode))
	}
	m := chapterLast.FindStringSubmatch(own)
	if m == nil {
		return false
	}
	if e := chapterLast.FindStringSubmatch(of); e != nil && e[1] == m[1] && naturally(m[2], e[2]) > 0 {
		return runsOn
	}
	return m[1] == of && runsOn
}

// whole returns when the take was taken and how long it is.
func (t take) whole() takes.Take {
	whole := t.chapters[0].take()
	for _, c := range t.chapters[1:] {
		whole.Length += c.length()
	}
	return whole
}
