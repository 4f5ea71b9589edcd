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

// WatchAll watches the frames of two files that go together at the slip that is known at first.
// Signatures are of consecutive frames, nil where one was not read.
func WatchAll(left, right []*picture.Signature, known Evidence) *Watch {
	first := max(0, -known.Slip)
	w := NewWatch(first, known.Slip, known)
	for i := first; i < len(left) && i+known.Slip < len(right); i++ {
		w.Add(left[i], right[i+known.Slip])
	}
	w.End()
	return w
}

// tell looks at the window and takes what lies before a left frame.
func (w *Watch) tell(to int, last bool) {
	for w.told < to {
		w.tellSome(to, last)
	}
}

// tellSome does so at least up to the first step of the slip that shows in single cells only.
func (w *Watch) tellSome(to int, last bool) {
	begins := len(w.Faults) == 0 && w.told == w.first
	known := Evidence{Slip: w.slip - w.pairedAt, Certain: w.known.Certain}
	if begins {
		known.Start = shiftedBy(w.known.Start, -w.pairedAt)
	}
	if last {
		known.End = shiftedBy(w.known.End, -w.pairedAt)
	}
	a := Align(w.left, w.right, known)
	if h, ok := w.hiddenStep(a, to-w.first); ok {
		// What comes after it is looked at by its slip.
		to, last = a.at(h)+h.Count+w.first, false
		a.Faults = slices.DeleteFunc(a.Faults, func(g FrameFault) bool { return a.at(g) >= a.at(h)-h.Within })
		a.Faults = append(a.Faults, h)
		to = max(to, w.told+1)
	}
	if begins {
		w.Start, w.slip = a.Start+w.pairedAt, a.Start+w.pairedAt
		w.takeUnclear(a.Unclear, func(u Stretch) bool { return u.From < endSpan })
	}
	if last {
		w.takeUnclear(a.Unclear, func(u Stretch) bool { return u.To > len(w.left)-endSpan && (u.From >= endSpan || !begins) })
	}
	for _, at := range Cuts(w.left, w.right, a.slipAt) {
		if at += w.first; at >= w.told && at < to {
			w.Cuts = append(w.Cuts, at)
		}
	}
	w.dropCoded(&a)
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

// dropCoded leaves out repeats that come in both files at once as they are numbered, though the
// frames do not go together so any more: where little moves, coding leaves out a change.
func (w *Watch) dropCoded(a *Alignment) {
	if w.slip == w.Start {
		return
	}
	first := w.Start - w.pairedAt
	l, r := meanChanges(w.left), meanChanges(w.right)
	a.Faults = slices.DeleteFunc(a.Faults, func(h FrameFault) bool {
		other, o := r, h.Frame+first
		if h.Right {
			other, o = l, h.Frame-first
		}
		return h.Kind == Repeated && o >= 0 && o < len(other) && other[o] < minOtherChange*usualChange(other, o)
	})
}

// slipAt returns the slip of a left frame.
func (a *Alignment) slipAt(frame int) int {
	slip := a.Start
	for _, h := range a.Faults {
		if h.StepKnown && frame >= a.at(h) {
			slip += h.Step
		}
	}
	return slip
}

const (
	// hiddenSpan is how many frames must certainly go together better at another slip for a step
	// to be looked for, and hiddenSpacing how far apart such stretches begin.
	hiddenSpan    = minFaultFrames
	hiddenSpacing = hiddenSpan / 2
)

// hiddenStep returns the first step of the slip before a frame of the window that sums over the
// picture's width do not show, though single cells do: where little moves, coding changes each
// picture by as much, and that goes on in step in both files whatever their frames show. It is
// looked for as at the ends of a clip, in short stretches around where another slip fits.
func (w *Watch) hiddenStep(a Alignment, to int) (h FrameFault, ok bool) {
	for b := max(w.told-w.first-hiddenSpan, 1); b < to; b += hiddenSpacing {
		slip := a.slipAt(b)
		if a.slipAt(b+hiddenSpan) != slip || !departs(w.left, w.right, slip, b, b+hiddenSpan) {
			continue
		}
		for _, middle := range []int{b, b + hiddenSpacing, b - hiddenSpacing, b - hiddenSpan} {
			from, until := max(middle-endSpan, 0), min(middle+endSpan, len(w.left))
			for _, g := range a.Faults { // no step that is known
				if at := a.at(g); at < b {
					from = max(from, at+g.Count)
				}
			}
			from = max(from, -slip)
			if until-from < endSpan {
				continue
			}
			some := Align(w.left[from:until], w.right[from+slip:min(until+slip, len(w.right))], Evidence{Certain: w.known.Certain})
			for _, g := range some.Faults {
				at := some.at(g) + from
				if !g.StepKnown || g.Step == 0 || some.Start != 0 || at < w.told-w.first || at >= to {
					continue
				}
				g.Frame += from
				if g.Right {
					g.Frame += slip
				}
				return g, true
			}
		}
	}
	return h, false
}

// departs reports whether the left frames from … to−1 certainly go together better at another
// slip beside the given one.
func departs(left, right []*picture.Signature, slip, from, to int) bool {
	first, last := max(from-1, -slip-1, 0), min(to, len(left))
	begin, end := max(first+slip-StepReach, 0), min(last+slip+StepReach, len(right))
	if last-first < hiddenSpan || end <= begin {
		return false
	}
	eyes := newEyeChanges(left[first:last], right[begin:end])
	slip += first - begin
	n := last - first
	if !eyes.setGain(slip, 0, n) {
		return false
	}
	for _, other := range []int{slip - 1, slip + 1} {
		a := eyes.advantage(other, slip, 0, n)
		if a.count >= hiddenSpan/2 && a.mean >= minAdvantage && a.sigmas >= stepSigmas {
			return true
		}
	}
	return false
}

// Departs reports whether somewhere in files that go together at a slip certainly another one
// fits better.
func Departs(left, right []*picture.Signature, slip int) bool {
	for from := 1; from+hiddenSpan <= len(left); from += hiddenSpan {
		if departs(left, right, slip, from, from+hiddenSpan) {
			return true
		}
	}
	return false
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
