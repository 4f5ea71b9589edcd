package timing

import (
	"slices"

	"nightpair/metrics/picture"
)

// Watch finds frame faults and cuts as the frames of a clip of any length come one after the
// other. It keeps a window of them only: watchCore frames are told at a time, with up to
// watchContext frames before and after them that show the slip on both sides of a step.
type Watch struct {
	// Alignment is what was found so far, by the numbers of the files' frames.
	Alignment
	// Cuts are the left frames at which both eyes cut to another shot.
	Cuts []int
	// Seen is how many frames of the left eye came.
	Seen int

	known       Evidence
	pairedAt    int // the slip at which frames are added
	first       int // left frame of the window's first one
	told        int // left frame up to which all is told
	slip        int // at the window's first frame
	left, right []*picture.Signature
}

const (
	watchCore    = 400
	watchContext = stepStretch
)

// NewWatch returns a watch over a clip that begins with a left frame, to which right frames are
// added that come pairedAt frames later.
func NewWatch(first, pairedAt int, known Evidence) *Watch {
	return &Watch{Alignment: Alignment{Start: known.Slip}, known: known, pairedAt: pairedAt, first: first, told: first, slip: known.Slip}
}

// Add takes the next frame of the left eye and the one that the right eye shows pairedAt frames
// later; nil where one was not read.
func (w *Watch) Add(left, right *picture.Signature) {
	w.left, w.right = append(w.left, left), append(w.right, right)
	if left != nil {
		w.Seen++
	}
	if w.first+len(w.left)-w.told >= watchCore+watchContext {
		w.tell(w.told+watchCore, false)
	}
}

// End tells what remains.
func (w *Watch) End() {
	w.tell(w.first+len(w.left), true)
}

// tell looks at the window and takes what lies before a left frame.
func (w *Watch) tell(to int, last bool) {
	begins := len(w.Faults) == 0 && w.told == w.first
	known := Evidence{Slip: w.slip - w.pairedAt, Certain: w.known.Certain}
	if begins {
		known.Start = shiftedBy(w.known.Start, -w.pairedAt)
	}
	if last {
		known.End = shiftedBy(w.known.End, -w.pairedAt)
	}
	a := Align(w.left, w.right, known)
	if begins {
		w.Start, w.slip = a.Start+w.pairedAt, a.Start+w.pairedAt
		w.takeUnclear(a.Unclear, func(u Stretch) bool { return u.From < endSpan })
	}
	if last {
		w.takeUnclear(a.Unclear, func(u Stretch) bool { return u.To > len(w.left)-endSpan && (u.From >= endSpan || !begins) })
	}
	slipAt := func(frame int) int {
		slip := a.Start
		for _, h := range a.Faults {
			if h.StepKnown && frame >= a.at(h) {
				slip += h.Step
			}
		}
		return slip
	}
	for _, at := range Cuts(w.left, w.right, slipAt) {
		if at += w.first; at >= w.told && at < to {
			w.Cuts = append(w.Cuts, at)
		}
	}
	keep := to - watchContext
	slip := w.slip
	for _, h := range a.Faults {
		at := a.at(h) + w.first
		if at < w.told || at >= to {
			continue
		}
		if h.StepKnown {
			slip += h.Step
		}
		keep = max(keep, at+h.Count)
		h.Frame += w.first
		if h.Right {
			h.Frame += w.pairedAt
		}
		w.Faults = append(w.Faults, h)
	}
	w.told, w.slip = to, slip
	if drop := min(max(keep-w.first, 0), len(w.left)); drop > 0 {
		w.left, w.right = slices.Delete(w.left, 0, drop), slices.Delete(w.right, 0, drop)
		w.first += drop
	}
}

func (w *Watch) takeUnclear(list []Stretch, do func(Stretch) bool) {
	for _, u := range list {
		if do(u) {
			w.Unclear = append(w.Unclear, Stretch{u.From + w.first, u.To + w.first})
		}
	}
}

func shiftedBy(list []int, by int) []int {
	out := slices.Clone(list)
	for i := range out {
		out[i] += by
	}
	return out
}
