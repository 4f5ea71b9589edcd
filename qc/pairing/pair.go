package pairing

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"nightpair/qc/record"
)

// file is a file that was found.
type file struct {
	path string
	id   string // the same for the same file however its path is written
	root string // the folder that names are relative to
	// chosen says that the user named the file itself, so that it is footage
	// whatever it is called.
	chosen bool
	// listed says that nothing but a manifest may use it.
	listed bool
	// flagged is the eye that the user says its card is of.
	flagged side
}

// draft is a clip on its way: names holds what it could be called, from short
// to unmistakable.
type draft struct {
	record.Clip
	names []string
}

// pair puts files together to clips, in the order of the clips' names. Their order does not
// matter. It knows the files by their paths alone and opens none, save that it may ask what
// they say and show.
//
// A manifest comes first. Then two files are a pair when their paths differ in
// nothing but marks of the eyes (left and right, L and R) and the extension,
// and no third file fits as well. Then what is left is paired by when it was taken and what
// it shows. Whatever fits nothing or is ambiguous becomes a clip with a Problem: nothing is
// guessed.
func (p Search) pair(files []file, manifests []manifest, rigs []rigCamera, id func(path string) string) ([]record.Clip, error) {
	elements := foldSequences(chosenBy(manifests, files, id))
	drafts, taken := fromManifests(elements, manifests, id)
	var free []element
	for i, e := range elements {
		switch {
		case taken[i], e.listed, e.sidecar(elements):
		case !utf8.ValidString(e.path):
			// Records are JSON, which has no way to hold such a path.
			drafts = append(drafts, e.orphan("its name is not valid UTF-8: rename the file"))
		default:
			free = append(free, e)
		}
	}
	if p.Packing.OneFile() {
		for _, e := range free {
			drafts = append(drafts, e.packed(p.Packing, "the packing said for all files"))
		}
		return named(drafts), nil
	}
	more, err := p.byMarks(free, rigs)
	if err != nil {
		return nil, err
	}
	return named(append(drafts, more...)), nil
}

// byMarks pairs what differs in marks only, and then what is left by when it was taken.
func (p Search) byMarks(elements []element, rigs []rigCamera) ([]draft, error) {
	var drafts []draft
	var flagged, singles []element
	elements = slices.DeleteFunc(slices.Clone(elements), func(e element) bool {
		if e.flagged != noSide {
			flagged = append(flagged, e)
		}
		return e.flagged != noSide
	})
	var pairs []counted
	for _, group := range mates(elements, pathReadings) {
		if len(group.members) == 1 {
			singles = append(singles, elements[group.members[0]])
			continue
		}
		clips := p.clipsOf(elements, group)
		if l := group.links[0]; len(group.members) == 2 && clips[0].Problem == "" && !slices.ContainsFunc(l.leftMarks, func(m mark) bool { return m.inName }) {
			pairs = append(pairs, counted{clips[0], elements[l.left], elements[l.right]})
			continue
		}
		drafts = append(drafts, clips...)
	}
	acrossDrafts, singles := acrossFolders(elements, singles)
	drafts = append(drafts, acrossDrafts...)
	var shots []shot
	for _, e := range slices.Concat(singles, flagged) {
		switch d, is := p.single(e); is {
		case isClip:
			drafts = append(drafts, d)
		case isShot:
			shots = append(shots, shot{element: e})
		}
	}
	apart := []counted{}
	if p.Ask != nil {
		apart = countedApart(pairs, shots)
	}
	asked := map[string]bool{}
	for _, c := range apart {
		shots = append(shots, shot{element: c.left, named: true}, shot{element: c.right, named: true})
		asked[c.left.path] = true
	}
	for _, c := range pairs {
		if !asked[c.left.path] {
			drafts = append(drafts, c.draft)
		}
	}
	if p.Ask != nil && len(shots) > 0 {
		var paths []string
		for _, s := range shots {
			paths = append(paths, s.path)
		}
		told, err := p.Ask(paths)
		if err != nil {
			return nil, err
		}
		for i := range shots {
			shots[i].told = told[shots[i].path]
		}
	}
	var legible []shot
	for _, s := range shots {
		switch packing := s.told.Source.Packing; {
		case s.told.Problem != "" && s.named: // its pair stays
		case s.told.Problem != "":
			drafts = append(drafts, s.withoutMate(""))
		case s.named:
			legible = append(legible, s)
		case p.Packing == "" && packing.OneFile():
			drafts = append(drafts, s.packed(packing, "the file's own stereo tags"))
		default:
			legible = append(legible, s)
		}
	}
	if p.Ask == nil {
		for _, s := range legible {
			drafts = append(drafts, s.withoutMate(""))
		}
		return drafts, nil
	}
	found, err := p.byWhenAndWhat(legible, rigs)
	return append(drafts, reconciled(apart, found)...), err
}

// clipsOf makes clips of elements that could be mates of one another.
func (p Search) clipsOf(elements []element, g group) []draft {
	if p.Packing == "" {
		for _, i := range g.members {
			if packing, why := elements[i].packingMark(); packing != "" {
				return []draft{ambiguous(elements, g, fmt.Sprintf("the name of %s is marked %s, yet it has a mate", elements[i].path, why))}
			}
		}
	}
	if len(g.members) == 2 {
		return []draft{pairOf(elements, g.links[0], "")}
	}
	// The same shot in several formats: pairs, if each format has just two files.
	byType := map[string][]link{}
	for _, l := range g.links {
		if t := elements[l.left].extension(); t == elements[l.right].extension() {
			byType[t] = append(byType[t], l)
		}
	}
	if 2*len(byType) == len(g.members) {
		var drafts []draft
		for _, links := range byType {
			if len(links) != 1 {
				drafts = nil
				break
			}
			drafts = append(drafts, pairOf(elements, links[0], ""))
		}
		if drafts != nil {
			return drafts
		}
	}
	return []draft{ambiguous(elements, g, "more than two files fit one another")}
}

// what an element without a mate by name is.
type kind uint8

const (
	isNothing kind = iota // a picture that nothing says to be footage
	isClip
	isShot // what its file says and shows may tell more
)

// single makes a clip of an element without a mate if its name says that it holds both eyes.
func (p Search) single(e element) (draft, kind) {
	if p.Packing == "" {
		if packing, why := e.packingMark(); packing != "" {
			return e.packed(packing, "the mark "+why), isClip
		} else if why != "" {
			return e.orphan("its name is marked " + why), isClip
		}
	}
	if e.still && e.number.none() && len(e.marks()) == 0 && !e.chosen {
		return draft{}, isNothing
	}
	return draft{}, isShot
}

// pairOf makes a clip of two mates.
func pairOf(elements []element, l link, addition string) draft {
	left, right := elements[l.left], elements[l.right]
	why := describe(left, right, l.leftMarks, l.rightMarks) + addition
	if left.extension() != right.extension() {
		why += fmt.Sprintf(", file types %s and %s", left.extension(), right.extension())
	}
	for _, e := range []element{left, right} {
		if e.lacking > 0 {
			why += fmt.Sprintf("; %s lacks %d of its pictures", filepath.Base(e.path), e.lacking)
		}
	}
	return draft{
		Clip:  record.Clip{Left: left.path, Right: right.path, Packing: record.Separate, Why: why},
		names: left.names(l.leftMarks),
	}
}

// ambiguous makes one clip of all elements that could belong together.
func ambiguous(elements []element, g group, reason string) draft {
	var left, right []int
	for _, i := range g.members {
		toLeft := slices.ContainsFunc(g.links, func(l link) bool { return l.left == i })
		toRight := slices.ContainsFunc(g.links, func(l link) bool { return l.right == i })
		if toLeft && !toRight {
			left = append(left, i)
		}
		if toRight && !toLeft {
			right = append(right, i)
		}
	}
	first := elements[g.members[0]]
	d := draft{Clip: record.Clip{Packing: record.Separate}, names: first.names(first.marks())}
	named := []int{}
	if len(left) == 1 {
		d.Left = elements[left[0]].path
		named = append(named, left[0])
	}
	if len(right) == 1 {
		d.Right = elements[right[0]].path
		named = append(named, right[0])
	}
	var rest []string
	for _, i := range g.members {
		if !slices.Contains(named, i) {
			rest = append(rest, elements[i].path)
		}
	}
	d.Problem = reason
	if len(rest) > 0 {
		d.Problem += ": " + strings.Join(rest, ", ")
	}
	d.Problem += "; list in " + ManifestName + " what belongs together"
	return d
}

// orphan makes a clip that cannot be measured.
func (e element) orphan(problem string) draft {
	d := draft{Clip: record.Clip{Packing: record.Separate, Problem: problem}, names: e.names(nil)}
	if e.side() == rightSide {
		d.Right = e.path
	} else {
		d.Left = e.path
	}
	return d
}

// packed makes a clip of a file that holds both eyes.
func (e element) packed(packing record.Packing, why string) draft {
	return draft{Clip: record.Clip{Left: e.path, Packing: packing, Why: why}, names: e.names(nil)}
}
