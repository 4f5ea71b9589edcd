package pairing

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/takes"
)

// byWhenAndWhat pairs shots that have no mate by name, as they lie on the cards of two
// cameras, and makes clips with a Problem of the rest.
func (p Search) byWhenAndWhat(shots []shot, rigs []rigCamera) ([]draft, error) {
	shots = withoutProxies(shots, p.Aside)
	findEyes(shots, rigs)
	var drafts []draft
	keys := rigKeys(shots)
	for _, key := range slices.Sorted(maps.Keys(keys)) {
		cameras := map[side][]shot{}
		for _, i := range keys[key] {
			cameras[shots[i].eye] = append(cameras[shots[i].eye], shots[i])
		}
		left, right := cameras[leftSide], cameras[rightSide]
		alone := cameras[noSide]
		eyes := true
		if len(left) == 0 && len(right) == 0 {
			// Two cameras of which nothing says which eye they are.
			if a, b, two := twoCameras(alone, shots); two {
				left, right, alone, eyes = a, b, nil, false
			}
		}
		for _, s := range alone {
			drafts = append(drafts, s.withoutMate("nothing says which eye it is: name the cards with --left and --right, or list the cameras in "+RigsName))
		}
		if len(left) == 0 || len(right) == 0 {
			for _, s := range slices.Concat(left, right) {
				drafts = append(drafts, s.withoutMate(""))
			}
			continue
		}
		d, err := p.day(left, right, eyes)
		if err != nil {
			return nil, err
		}
		drafts = append(drafts, d...)
	}
	return drafts, nil
}

// twoCameras parts shots of two cameras.
func twoCameras(shots, all []shot) (first, second []shot, ok bool) {
	cards := map[string][]int{}
	for i, s := range shots {
		cards[s.card(all)] = append(cards[s.card(all)], i)
	}
	if len(cards) != 2 {
		return nil, nil, false
	}
	names := slices.Sorted(maps.Keys(cards))
	for _, i := range cards[names[0]] {
		first = append(first, shots[i])
	}
	for _, i := range cards[names[1]] {
		second = append(second, shots[i])
	}
	return first, second, true
}

// withoutMate makes a clip of a shot that nothing was found for. Why says more than the names
// of files do; empty where it does not.
func (s shot) withoutMate(why string) draft {
	marks := s.marks()
	switch {
	case s.told.Problem != "":
		return s.orphan("it cannot be read: " + s.told.Problem)
	case s.flagged != noSide:
		return s.of("no take of the other camera was found")
	case len(marks) > 0:
		why = fmt.Sprintf("no %s eye found for it: looked for %s", s.side().other(), s.expectedMate())
	default:
		if why != "" {
			why = "; " + why
		}
		why = "no other eye found, and no mark in its name says which eye it is; if it holds both, say how they are packed; if the names of the eyes differ otherwise, list them in " + ManifestName + why
	}
	return s.of(why)
}

// of makes a clip of one eye that cannot be measured.
func (s shot) of(problem string) draft {
	d := s.orphan(problem)
	if s.eye == rightSide {
		d.Left, d.Right = "", s.path
	} else if s.eye == leftSide {
		d.Left, d.Right = s.path, ""
	}
	return d
}

// day pairs the shots of a left and a right camera. Eyes says whether it is known which is
// which; otherwise what belongs together is told and not measured.
func (p Search) day(leftShots, rightShots []shot, eyes bool) ([]draft, error) {
	if pairs, ok := sameNames(leftShots, rightShots); ok && !contradicted(pairs) {
		var drafts []draft
		for _, pair := range pairs {
			drafts = append(drafts, draft{
				Clip:  record.Clip{Left: pair[0].path, Right: pair[1].path, Packing: record.Separate, Why: "the same names on both cards; " + eyesBy(pair[0], pair[1])},
				names: pair[0].names(pair[0].marks()),
			})
		}
		return drafts, nil
	}
	inShootingOrder(leftShots)
	inShootingOrder(rightShots)
	left, right := inTakes(leftShots), inTakes(rightShots)
	found, shown, err := p.align(left, right)
	if err != nil {
		return nil, err
	}
	var drafts []draft
	mated := map[int]bool{}
	candidates := make([][]takes.Choice, len(right)) // of each right take, by the left one's number
	for i, choices := range found.Choices {
		for _, c := range choices {
			j := c.Right
			c.Right = i
			candidates[j] = append(candidates[j], c)
		}
	}
	for i, l := range left {
		choice, sure := found.Pair(i)
		if sure {
			r := right[choice.Right]
			mated[choice.Right] = true
			second := ""
			if c := found.Choices[i]; len(c) > 1 {
				second = fmt.Sprintf("; second choice %s (%s)", right[c[1].Right].chapters[0].path, percent(c[1].Sure))
			}
			why := reason(l, r, choice, shown(i, choice.Right)) + second
			drafts = append(drafts, ofTake(l, r, choice, why, eyes)...)
			continue
		}
		for _, s := range l.chapters {
			drafts = append(drafts, s.of(open(s, found.Choices[i], right, true)))
		}
	}
	for j, r := range right {
		if mated[j] {
			continue
		}
		slices.SortStableFunc(candidates[j], func(a, b takes.Choice) int { return cmp.Compare(b.Sure, a.Sure) })
		for _, s := range r.chapters {
			drafts = append(drafts, s.of(open(s, candidates[j], left, false)))
		}
	}
	return drafts, nil
}

// sameNames pairs the shots of cards that the user names by their paths within them, if all
// of them have a mate so: numbering that both cameras share says something.
func sameNames(left, right []shot) (pairs [][2]shot, ok bool) {
	if len(left) != len(right) {
		return nil, false
	}
	inCard := func(s shot) string {
		if s.flagged == noSide {
			return ""
		}
		within, err := filepath.Rel(s.root, s.stem())
		if err != nil {
			return ""
		}
		return within
	}
	byName := map[string]shot{}
	for _, s := range right {
		byName[inCard(s)] = s
	}
	for _, s := range left {
		mate, found := byName[inCard(s)]
		if inCard(s) == "" || !found {
			return nil, false
		}
		delete(byName, inCard(s))
		pairs = append(pairs, [2]shot{s, mate})
	}
	return pairs, true
}

// contradicted reports whether what the files say of when they were taken surely pairs them
// otherwise.
func contradicted(pairs [][2]shot) bool {
	var left, right []shot
	mate := map[string]string{}
	for _, pair := range pairs {
		left, right = append(left, pair[0]), append(right, pair[1])
		mate[pair[0].path] = pair[1].path
	}
	inShootingOrder(left)
	inShootingOrder(right)
	var l, r []takes.Take
	for i := range left {
		l, r = append(l, left[i].take()), append(r, right[i].take())
	}
	found := takes.Align(l, r, nil)
	for i, s := range left {
		if c, sure := found.Pair(i); sure && right[c.Right].path != mate[s.path] {
			return true
		}
	}
	return false
}

// align aligns the takes of two cameras by what their files say, then listens to those that
// this leaves open, and looks at those that are still open.
func (p Search) align(left, right []take) (takes.Alignment, func(i, j int) takes.Compared, error) {
	var l, r []takes.Take
	for _, t := range left {
		l = append(l, t.whole())
	}
	for _, t := range right {
		r = append(r, t.whole())
	}
	compared := map[[2]int]takes.Compared{}
	shown := func(i, j int) takes.Compared { return compared[[2]int{i, j}] }
	evidence := func(i, j int) float64 { return shown(i, j).Evidence }
	found := takes.Align(l, r, nil)
	seen := map[string]takes.Shown{}
	for _, look := range []func(paths []string) (map[string]takes.Shown, error){p.Listen, p.Watch} {
		if look == nil {
			continue
		}
		done := map[[2]int]bool{}
		asked := map[string]bool{}
		// What was compared may let other candidates rise.
		const rounds = 4
		for range rounds {
			var pairs [][2]int
			var paths []string
			for i, choices := range found.Choices {
				if _, sure := found.Pair(i); sure {
					continue
				}
				for _, c := range choices {
					pair := [2]int{i, c.Right}
					if done[pair] {
						continue
					}
					done[pair] = true
					pairs = append(pairs, pair)
					for _, path := range []string{left[i].chapters[0].path, right[c.Right].chapters[0].path} {
						if !asked[path] {
							asked[path] = true
							paths = append(paths, path)
						}
					}
				}
			}
			if len(pairs) == 0 {
				break
			}
			if len(paths) > 0 {
				answers, err := look(paths)
				if err != nil {
					return found, nil, err
				}
				for path, s := range answers {
					seen[path] = seen[path].With(s)
				}
			}
			ready := map[string]takes.Comparable{}
			prepared := func(path string) takes.Comparable {
				if _, ok := ready[path]; !ok {
					ready[path] = seen[path].Comparable()
				}
				return ready[path]
			}
			for _, pair := range pairs {
				compared[pair] = takes.Compare(prepared(left[pair[0]].chapters[0].path), prepared(right[pair[1]].chapters[0].path))
			}
			found = takes.Align(l, r, evidence)
		}
	}
	return found, shown, nil
}

// reason says why two takes were taken for a pair.
func reason(l, r take, c takes.Choice, compared takes.Compared) string {
	var parts []string
	a, b := l.whole(), r.whole()
	// Timecodes that are alike are meant to be the same.
	later, apart := c.Apart, ""
	const noticeable = 20 // seconds
	switch {
	case math.Abs(c.Clocks) > noticeable:
		apart = ", the cameras' clocks being " + duration(c.Clocks) + " apart"
	case c.Clock == takes.Timecode:
		later += c.Clocks
	}
	overlap := min(a.Length, later+b.Length) - max(0, later)
	if c.Clock != takes.NoClock {
		parts = append(parts, fmt.Sprintf("%s that overlaps by %.1f s%s", c.Clock, max(overlap, 0), apart))
	}
	if compared.Correlation > 0 && compared.Evidence > 0 {
		when, by := "later", compared.Apart
		if by < 0 {
			when, by = "earlier", -by
		}
		parts = append(parts, fmt.Sprintf("%s that correlate by %.2f, the right eye beginning %.1f s %s", compared.By, compared.Correlation, by, when))
	}
	if len(parts) == 0 {
		parts = append(parts, "shooting order and length")
	}
	parts = append(parts, eyesBy(l.chapters[0], r.chapters[0]), "sure to "+percent(c.Sure))
	return strings.Join(parts, "; ")
}

// eyesBy says how it is known which shot is which eye.
func eyesBy(left, right shot) string {
	if left.by == right.by || right.by == "" {
		return "eyes by " + left.by
	}
	return "eyes by " + left.by + " and " + right.by
}

func duration(seconds float64) string {
	return time.Duration(math.Abs(math.Round(seconds)) * float64(time.Second)).String()
}

// percent writes a probability without making it certain.
func percent(p float64) string {
	p *= 100
	switch {
	case p > 99.99:
		return "99.99 %"
	case p > 99:
		return fmt.Sprintf("%.2f %%", math.Floor(100*p)/100)
	case p < 1:
		return fmt.Sprintf("%.1f %%", p)
	}
	return fmt.Sprintf("%.0f %%", p)
}

// open says of a shot that has no sure mate what it may belong with.
func open(s shot, choices []takes.Choice, others []take, isLeft bool) string {
	const told, worthTelling = 2, 0.02
	var names []string
	line := ""
	for _, c := range choices {
		if c.Sure < worthTelling || len(names) == told {
			continue
		}
		path := others[c.Right].chapters[0].path
		names = append(names, fmt.Sprintf("%s (%s)", path, percent(c.Sure)))
		if line == "" {
			line = manifestLine(s.path, path)
			if !isLeft {
				line = manifestLine(path, s.path)
			}
		}
	}
	if len(names) == 0 {
		return "only this camera has the take: nothing of the other one fits by time, length, sound or picture; if that is wrong, list the pair in " + ManifestName
	}
	return fmt.Sprintf("not sure enough what it belongs with: perhaps %s; if so, add to %s the line %s", strings.Join(names, " or "), ManifestName, line)
}

// ofTake makes the clips of a take, one for each pair of chapters.
func ofTake(l, r take, c takes.Choice, why string, eyes bool) []draft {
	var drafts []draft
	clip := func(a, b shot, why string) {
		d := draft{
			Clip:  record.Clip{Left: a.path, Right: b.path, Packing: record.Separate, Why: why, Sure: c.Sure},
			names: a.names(a.marks()),
		}
		if !eyes {
			d.Problem = "they belong together (" + strings.Replace(why, "; eyes by ", "", 1) + "), yet nothing says which is the left eye: name the cards with --left and --right, or list the cameras in " + RigsName
			d.Why, d.Sure = "", 0
		}
		drafts = append(drafts, d)
	}
	if len(l.chapters) == 1 && len(r.chapters) == 1 {
		clip(l.chapters[0], r.chapters[0], why)
		return drafts
	}
	used := map[int]bool{}
	parted := func(s shot, number int, chapters []shot, other take) {
		drafts = append(drafts, s.of(fmt.Sprintf("chapter %d of %d of a take that the other camera has in %d, which are paired with other chapters: join the files of each camera to measure all of it; the other's take begins with %s",
			number+1, len(chapters), len(other.chapters), other.chapters[0].path)))
	}
	begun := 0.0
	for i, a := range l.chapters {
		best, most := -1, 0.0
		other := c.Apart
		for j, b := range r.chapters {
			overlap := min(begun+a.length(), other+b.length()) - max(begun, other)
			if len(l.chapters) == len(r.chapters) {
				overlap = float64(1 - stat.Abs(i-j)) // the chapters of both are in step
			}
			if !used[j] && overlap > most {
				best, most = j, overlap
			}
			other += b.length()
		}
		begun += a.length()
		if best < 0 {
			parted(a, i, l.chapters, r)
			continue
		}
		used[best] = true
		clip(a, r.chapters[best], fmt.Sprintf("chapter %d of %d and %d of %d of one take: %s", i+1, len(l.chapters), best+1, len(r.chapters), why))
	}
	for j, b := range r.chapters {
		if !used[j] {
			parted(b, j, r.chapters, l)
		}
	}
	return drafts
}
