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
	Right bool      `json:"right"` // the eye with the fault is the right one, else the left
	Kind  FaultKind `json:"kind"`
	// Frame is the number of the eye's first repeated or black frame, or of the first one
	// after dropped frames, as the signatures are numbered. It may be wrong by Within frames.
	Frame  int `json:"frame"`
	Within int `json:"within,omitempty"`
	// Count is how many frames are repeated, black, or missing before Frame.
	Count int `json:"count"`
	// Step is by how many frames the slip of the right eye grows from there on: 0 where a
	// repeated frame is made up for at once. StepKnown says whether that can be seen.
	Step      int  `json:"step"`
	StepKnown bool `json:"known"`
	// At is when the left eye's file shows it, from its frame 0, where faults are found by
	// time stamps instead of frame numbers; 0 otherwise.
	At time.Duration `json:"at,omitzero"`
}

// FaultKind says what happens to an eye's frames.
type FaultKind string

const (
	Repeated FaultKind = "repeated" // frames that show what the frame before them shows
	Dropped  FaultKind = "dropped"  // frames are missing before this one
	Black    FaultKind = "black"    // frames without a picture
)

// FrameFaults finds the faults of both eyes' frames, in the order of the left frames. The
// right eye's frame i+slip goes with the left eye's frame i; signatures are of consecutive
// frames, nil where one was not read. What both eyes do at once, such as a still within an
// edit, is no fault. In a picture without motion only black frames can be seen.
func FrameFaults(left, right []*picture.Signature, slip int) []FrameFault {
	l, r := meanChanges(left), meanChanges(right)
	lc, rc := changes(left, 1), changes(right, 1)
	var eyes *eyeChanges // costly, and rarely needed
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

	// The slip may change at each of them.
	var places []int
	for _, h := range list {
		places = append(places, at(h))
	}
	slices.Sort(places)
	for i, h := range list {
		if !h.StepKnown {
			list[i].Step, list[i].StepKnown = stepAt(lc, rc, slip, places, at(h), h.Count)
		}
	}
	// Dropped frames that leave no visible jump change the slip all the same. A large
	// change alone may be a flash or a shadow.
	for _, p := range stepCandidates(l, r, slip) {
		if slices.ContainsFunc(places, func(q int) bool { return stat.Abs(p-q) <= changesAround }) {
			continue
		}
		step, known := stepAt(lc, rc, slip, places, p, 0)
		if !known || step == 0 {
			continue
		}
		if eyes == nil {
			eyes = newEyeChanges(left, right)
		}
		p, within, before := stepFrom(eyes, lc, rc, slip, step, places, p)
		if again, known := stepAt(lc, rc, slip, places, p, 0); !known || again != step {
			continue // the step is not confirmed at the place found
		}
		h := FrameFault{Kind: Dropped, Frame: p, Within: within, Count: step, Step: step, StepKnown: true}
		if step < 0 {
			h.Right, h.Frame, h.Count = true, p+before, -step
		}
		list = append(list, h)
		places = append(places, p)
		slices.Sort(places)
	}
	slices.SortStableFunc(list, func(g, h FrameFault) int { return cmp.Compare(at(g), at(h)) })
	all := slices.Clone(list)
	return slices.DeleteFunc(list, func(h FrameFault) bool { return explainedByStep(h, l, r, slip, all, at) })
}

// PairedFrameFaults finds frames of an eye, the right one or else the left one, that are black or
// repeated while the other eye's are not. Frame i of the one goes with frame i of the
// other, so frames of a variable rate have to be paired before; nil where one was not read.
func PairedFrameFaults(of, other []*picture.Signature, right bool) []FrameFault {
	list := append(blacks(of, other, 0, right), repeats(meanChanges(of), meanChanges(other), 0, right)...)
	return dropRepeatsOfBlack(list)
}

// runs returns a fault of a kind for each run of frames, out of n, for which holds is true.
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
