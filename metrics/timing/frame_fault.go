package timing

import (
	"cmp"
	"slices"
	"time"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// FrameFault is a place where one eye's frames do not go on as the other eye's do.
type FrameFault struct {
	Right bool      `json:"right"` // the eye that it happens to, else the left one
	Kind  FaultKind `json:"kind"`  // what happens
	// Frame is the number of the eye's first frame that shows it, as the
	// signatures are numbered; it may be wrong by Within frames.
	Frame  int `json:"frame"`
	Within int `json:"within,omitempty"`
	// Count is how many frames are repeated, black, or lacking before Frame.
	Count int `json:"count"`
	// Step is by how many frames more the right eye is behind the left one from
	// there on: a repeated frame may be made up for at once, or stay. Known says
	// whether that can be seen.
	Step  int  `json:"step"`
	Known bool `json:"known"`
	// At is when the left eye's file shows it, from its frame 0, where frames are told by
	// time stamps rather than by their numbers.
	At time.Duration `json:"at,omitzero"`
}

// FaultKind says what happens to an eye's frames.
type FaultKind string

const (
	Repeated FaultKind = "repeated" // frames that show what the frame before them shows
	Dropped  FaultKind = "dropped"  // frames lack before this one
	Black    FaultKind = "black"    // frames without a picture
)

// FrameFaults finds where one eye's frames stumble. The right eye's frame i+slip
// goes with the left eye's i; signatures are of consecutive frames, nil where
// one was not read. What both eyes do at once, such as a still within an edit,
// is none. In a picture that rests nothing is seen.
func FrameFaults(left, right []*picture.Signature, slip int) []FrameFault {
	l, r := stirs(left), stirs(right)
	lc, rc := changes(left, 1), changes(right, 1)
	var list []FrameFault
	list = append(list, blacks(left, right, slip, false)...)
	list = append(list, blacks(right, left, -slip, true)...)
	list = append(list, repeats(l, r, slip, false)...)
	list = append(list, repeats(r, l, -slip, true)...)
	list = dropRepeatsOfBlack(list)
	at := func(h FrameFault) int { // its left frame
		if h.Right {
			return h.Frame - slip
		}
		return h.Frame
	}
	list = append(list, jumps(lc, rc, slip, list, at)...)

	// A step in sync is looked for between neighbouring hitches.
	var places []int
	for _, h := range list {
		places = append(places, at(h))
	}
	slices.Sort(places)
	for i, h := range list {
		if !h.Known {
			list[i].Step, list[i].Known = stepAt(lc, rc, slip, places, at(h), h.Count)
		}
	}
	// Where frames lack without a jump that shows, sync steps all the same. A leap
	// alone may be a flash or a shadow.
	for _, p := range suspects(l, r, slip) {
		if slices.ContainsFunc(places, func(q int) bool { return stat.Abs(p-q) <= hitchNear }) {
			continue
		}
		step, known := stepAt(lc, rc, slip, places, p, 0)
		if !known || step == 0 {
			continue
		}
		p, within, before := stepFrom(left, right, lc, rc, slip, step, places, p)
		if again, known := stepAt(lc, rc, slip, places, p, 0); !known || again != step {
			continue // it is not where it seems to be
		}
		h := FrameFault{Kind: Dropped, Frame: p, Within: within, Count: step, Step: step, Known: true}
		if step < 0 {
			h.Right, h.Frame, h.Count = true, p+before, -step
		}
		list = append(list, h)
		places = append(places, p)
		slices.Sort(places)
	}
	slices.SortStableFunc(list, func(g, h FrameFault) int { return cmp.Compare(at(g), at(h)) })
	all := slices.Clone(list)
	return slices.DeleteFunc(list, func(h FrameFault) bool { return excused(h, l, r, slip, all, at) })
}

// Standstills finds frames of an eye, the right one or else the left one, that are black
// or repeated while the other eye's are not. Frame i of the one goes with frame i of the
// other, so what comes unevenly is to be paired before; nil where one was not read.
func Standstills(of, other []*picture.Signature, right bool) []FrameFault {
	list := append(blacks(of, other, 0, right), repeats(stirs(of), stirs(other), 0, right)...)
	return dropRepeatsOfBlack(list)
}

// runs gathers the frames of an eye, of n, for which something holds into hitches of
// a kind, one for each run of them.
func runs(n int, right bool, kind FaultKind, holds func(t int) bool) []FrameFault {
	var list []FrameFault
	for t := range n {
		if !holds(t) {
			continue
		}
		if k := len(list); k > 0 && list[k-1].Frame+list[k-1].Count == t {
			list[k-1].Count++
			continue
		}
		list = append(list, FrameFault{Right: right, Kind: kind, Frame: t, Count: 1})
	}
	return list
}
