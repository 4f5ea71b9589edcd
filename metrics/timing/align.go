package timing

import (
	"cmp"
	"math"
	"slices"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// Alignment is how the eyes' frames go together from the first to the last.
type Alignment struct {
	// Start is the slip of the left eye's first frames.
	Start int
	// Faults holds the frame faults in the order of the left frames; they may change the
	// slip.
	Faults []FrameFault
	// Unclear holds the beginning and the end of the clip, as left frames, where the
	// pictures do not tell the slip: there it may be another one.
	Unclear []Stretch
}

// Stretch is the frames From … To−1.
type Stretch struct {
	From int `json:"from"`
	To   int `json:"to"`
}

// Evidence is what is known of a clip's slip before its ends are looked at.
type Evidence struct {
	// Slip is what the pictures show somewhere near the beginning; it is taken for granted
	// where they do not show any. Certain says that FindSlip gave it.
	Slip    int
	Certain bool
	// Start and End hold the slips for which something else than the pictures speaks at the
	// first frames and at the last: that both files begin, or end, with the same instant, or
	// their timecodes.
	Start, End []int
}

const (
	// endSpan is how many frames of each end are looked at by themselves: there a step may
	// have fewer than minFaultFrames on one side.
	endSpan = 2 * minFaultFrames
	// minEndChanges is the least number of changes from which a slip is told.
	minEndChanges = 8
	// minAdvantage is by what share of the changes a slip must explain them better than
	// another: less may be the different points of view. The project's own choice, see the
	// tests.
	minAdvantage = 0.1
	// A slip is told where it explains the changes better than others by sureSigmas standard
	// errors, and a step of the slip by stepSigmas, of which likelySigmas do where something
	// else than the pictures speaks for it. The project's own choice: few clips have a step
	// in a given end.
	sureSigmas   = 3
	stepSigmas   = 4
	likelySigmas = 2.5
)

// Align finds how the eyes' frames go together. FrameFaults finds what has frames enough on
// both sides; both ends are then looked at by themselves.
func Align(left, right []*picture.Signature, known Evidence) Alignment {
	slip := known.Slip
	a := Alignment{Start: slip, Faults: FrameFaults(left, right, slip)}
	slipAtEnd := slip
	for _, h := range a.Faults {
		if h.StepKnown {
			slipAtEnd += h.Step
		}
	}
	first, last := max(0, -slip), min(len(left), len(right)-slipAtEnd)
	if last-first < 2*minEndChanges {
		return a
	}
	eyes := newEyeChanges(left, right)
	lc, rc := changes(left, 1), changes(right, 1)
	both := end{eyes: eyes, leftChanges: lc, rightChanges: rc, certain: known.Certain, at: a.at}
	a.lookAtStart(both, first, last, known.Start)
	a.lookAtEnd(both, first, last, known.End)
	slices.SortStableFunc(a.Faults, func(g, h FrameFault) int { return cmp.Compare(a.at(g), a.at(h)) })
	return a
}

// at returns the left frame of a fault.
func (a *Alignment) at(h FrameFault) int {
	if h.Right {
		return h.Frame - a.Start
	}
	return h.Frame
}

// lookAtStart looks at the first frames. What FrameFaults takes for the slip of the first
// frame is that of most of them.
func (a *Alignment) lookAtStart(e end, first, last int, likely []int) {
	reach := min(minFaultFrames, (last-first)/2)
	from := first + 1 // the change to the first frame is not one of its own
	to := min(last, first+endSpan)
	until, before := last, a.Start // the slip of the frames after those with few before them
	var early, rest []FrameFault
	for _, h := range a.Faults {
		switch at := a.at(h); {
		case at < first+reach:
			early = append(early, h)
		default:
			rest = append(rest, h)
			if !h.StepKnown || h.Step != 0 {
				to, until = min(to, at), min(until, at)
			}
		}
	}
	inner := first
	for _, h := range early {
		inner = max(inner, a.at(h)+h.Count)
		if h.StepKnown {
			before += h.Step
		}
	}
	if s, ok := slipWithin(e.leftChanges, e.rightChanges, a.Start, max(inner, min(first+minFaultFrames, until-minFaultFrames)), until); ok {
		before = a.Start + int(math.Round(s))
	}
	e.from, e.to, e.slip, e.likely = from, to, before, likely
	early, unclear := e.look(early)
	a.Start = e.slip
	a.Faults = append(early, rest...)
	if unclear > from+minEndChanges+endSlack {
		a.Unclear = append(a.Unclear, Stretch{From: max(0, -a.Start), To: unclear})
	}
}

// lookAtEnd looks at the last frames.
func (a *Alignment) lookAtEnd(e end, first, last int, likely []int) {
	reach := min(minFaultFrames, (last-first)/2)
	from := max(first+1, last-endSpan)
	slip := a.Start
	var late, rest []FrameFault
	for _, h := range a.Faults {
		switch at := a.at(h); {
		case at+h.Count > last-reach && at >= first+reach:
			late = append(late, h)
		default:
			rest = append(rest, h)
			if h.StepKnown {
				slip += h.Step
			}
			if !h.StepKnown || h.Step != 0 {
				from = max(from, at+h.Count+1)
			}
		}
	}
	e.from, e.to, e.slip, e.likely, e.late = from, last, slip, likely, true
	late, unclear := e.look(late)
	a.Faults = append(rest, late...)
	if unclear < last-minEndChanges-endSlack {
		a.Unclear = append(a.Unclear, Stretch{From: unclear, To: last})
	}
}

// endSlack is how many frames beyond minEndChanges at an end count as none: steps are told
// down to the tenth frame.
const endSlack = 1

// end is one end of a clip: the left frames from … to−1, of which those farther in have the
// slip.
type end struct {
	eyes                      *eyeChanges
	leftChanges, rightChanges changeSeries
	certain                   bool // the slip is certain without looking at it again

	from, to int
	slip     int // of what remains to be looked at, in the end that of the outermost frames
	late     bool
	likely   []int
	at       func(FrameFault) int
}

// look finds the steps of the slip from the inside out and tells what faults found before
// do to it. It returns the faults of this end, and the frame at which the frames that do
// not show the slip end, or begin.
func (e *end) look(seen []FrameFault) (faults []FrameFault, unclear int) {
	e.eyes.setGain(e.slip, e.from, e.to)
	for {
		inside := *e
		f, p, ok := e.step()
		if !ok {
			break
		}
		if k := slices.IndexFunc(seen, func(h FrameFault) bool {
			return h.Kind != Black && stat.Abs(e.at(h)-p) <= max(f.Within, 2)+h.Count
		}); k >= 0 {
			h := seen[k]
			if h.Count != f.Count {
				*e = inside // they do not agree, so the step is not certain
				break
			}
			f.Right, f.Kind, f.Frame, f.Within = h.Right, h.Kind, h.Frame, h.Within
			seen = slices.Delete(seen, k, k+1)
		}
		faults = append(faults, f)
	}
	unclear = e.unclear()
	// From the inside out, too: each may change the slip of what lies beyond.
	if !e.late {
		slices.Reverse(seen)
	}
	for _, h := range seen {
		at := e.at(h)
		confirmed := at >= unclear && e.tells(Stretch{at + h.Count, e.to})
		if e.late {
			confirmed = at+h.Count <= unclear && e.tells(Stretch{e.from, at})
		}
		switch {
		case confirmed && h.Kind == Dropped:
			continue // the slip is the same on both sides of it
		case confirmed:
			h.Step, h.StepKnown = 0, true
		case h.Kind == Dropped && !e.leapsAt(h):
			h.Step, h.StepKnown = 0, false
		case h.StepKnown && e.late:
			e.slip += h.Step
		case h.StepKnown:
			e.slip -= h.Step
		}
		faults = append(faults, h)
	}
	return faults, unclear
}

// parts returns the frames outside a step that spans n changes from a frame on, and those
// inside of it.
func (e *end) parts(at, n int) (outer, inner Stretch) {
	outer, inner = Stretch{e.from, at}, Stretch{at + n, e.to}
	if e.late {
		outer, inner = inner, outer
	}
	return outer, inner
}

// step finds the step of the slip that makes the eyes' changes explain each other best. The
// frames outside of it become those to be looked at.
func (e *end) step() (f FrameFault, at int, ok bool) {
	best := 0.0
	var step, within, outerSlip int
	for outward := -StepReach; outward <= StepReach; outward++ {
		if outward == 0 || !e.promises(outward) {
			continue
		}
		before, after := e.slip+outward, e.slip
		if e.late {
			before, after = after, before
		}
		from := max(e.from, 1-before, 1-after)
		to := min(e.to, len(e.eyes.right)-before, len(e.eyes.right)-after)
		n, _ := acrossStep(after - before)
		if to-from < n+minEndChanges {
			continue
		}
		p, w := e.eyes.step(before, after, from, to)
		outer, inner := e.parts(p, n)
		gain := e.eyes.advantage(e.slip+outward, e.slip, outer.From, outer.To)
		if v := gain.mean * float64(gain.count); v > best && e.shows(outward, outer, inner) && e.leaps(before, after, p) {
			best, at, within, step, outerSlip, ok = v, p, w, after-before, e.slip+outward, true
		}
	}
	if !ok {
		return f, 0, false
	}
	before := outerSlip
	if e.late {
		before = e.slip
	}
	f = FrameFault{Kind: Dropped, Frame: at, Within: within, Count: step, Step: step, StepKnown: true}
	if step < 0 {
		f.Right, f.Frame, f.Count = true, at+before, -step
	}
	f = e.asRepeat(f, at, before)
	n, _ := acrossStep(step)
	outer, _ := e.parts(at, n)
	e.slip, e.from, e.to = outerSlip, outer.From, outer.To
	return f, at, true
}

// leapsAt is leaps for a fault, inside of which the slip is the one to be looked at.
func (e *end) leapsAt(h FrameFault) bool {
	if e.late {
		return e.leaps(e.slip, e.slip+h.Step, e.at(h))
	}
	return e.leaps(e.slip-h.Step, e.slip, e.at(h))
}

// leaps reports whether the change across a step at a left frame is as large as the step: no
// smaller one explains it better.
func (e *end) leaps(before, after, at int) bool {
	n, m := acrossStep(after - before)
	whole, ok := e.eyes.unexplained(at, n, at+before, m)
	for less := after - before; ok && stat.Abs(less) > 1; {
		less -= less / stat.Abs(less)
		n, m := acrossStep(less)
		for i := at - 1; i <= at+stat.Abs(after-before); i++ {
			if part, seen := e.eyes.unexplained(i, n, i+after-less, m); seen && part < whole {
				return false
			}
		}
	}
	return ok
}

// asRepeat returns the fault of a step as a repeat where the eye with the more frames does not
// change.
func (e *end) asRepeat(f FrameFault, at, before int) FrameFault {
	list, from := e.eyes.left, at
	if f.Step > 0 {
		list, from = e.eyes.right, at+before
	}
	for t := from - f.Within; t <= from+f.Within; t++ {
		usual := usualSize(list, t, f.Count)
		still := usual > minUsualChange
		for k := t; still && k < t+f.Count; k++ {
			still = k >= 0 && k < len(list) && list[k] != nil && list[k].size() <= maxRepeatChange*usual
		}
		if still {
			return FrameFault{Right: f.Step > 0, Kind: Repeated, Frame: t, Count: f.Count, Step: f.Step, StepKnown: true}
		}
	}
	return f
}

// usualSize returns the median size of the changes around count of them from t on.
func usualSize(list []*cellChange, t, count int) float64 {
	var sizes []float64
	for i := max(t-changesAround, 0); i < min(t+count+changesAround, len(list)); i++ {
		if (i < t || i >= t+count) && list[i] != nil {
			sizes = append(sizes, list[i].size())
		}
	}
	if len(sizes) < changesAround {
		return 0
	}
	return stat.Median(sizes)
}

// promises reports whether the outermost frames, up to some place, look as if their slip were
// so much larger.
func (e *end) promises(outward int) bool {
	sum, best := 0.0, 0.0
	for k := range e.to - e.from {
		i := e.from + k
		if e.late {
			i = e.to - 1 - k
		}
		u, ok := e.eyes.at(i, i+e.slip)
		v, also := e.eyes.at(i, i+e.slip+outward)
		if ok && also {
			sum += u - v
		}
		best = max(best, sum)
	}
	return best >= minAdvantage*minEndChanges
}

// shows reports whether the frames outside a step certainly have a slip that much larger,
// and those inside of it do not.
func (e *end) shows(outward int, outer, inner Stretch) bool {
	slip := e.slip + outward
	sigmas := float64(stepSigmas)
	if slices.Contains(e.likely, slip) {
		sigmas = likelySigmas
	}
	if !e.beats(slip, e.slip, outer, sigmas) || !e.beats(e.slip, slip, inner, sigmas) || !e.established(inner) {
		return false
	}
	for _, other := range []int{slip - 1, slip + 1} {
		if other != e.slip && !e.beats(slip, other, outer, sureSigmas) {
			return false
		}
	}
	// The points of view may make the slip seem to lie between two frames, but alike on both
	// sides.
	apart := e.eyes.fraction(slip, outer.From, outer.To) - e.eyes.fraction(e.slip, inner.From, inner.To)
	return apart > -maxFraction && apart < maxFraction
}

// established reports whether the frames inside of a step certainly have the slip. Where the
// camera travels, an eye may see what the other saw a frame before, and only what moves in
// the picture tells that from being late.
func (e *end) established(inner Stretch) bool {
	if e.certain {
		return true
	}
	from, to := inner.From, min(inner.To, len(e.leftChanges))
	r := make(changeSeries, max(to-from, 0))
	for i := range r {
		if j := from + i + e.slip; j >= 0 && j < len(e.rightChanges) {
			r[i] = e.rightChanges[j]
		}
	}
	if len(r) == 0 {
		return false
	}
	s := newSlipSearch(e.leftChanges[from:to], r, StepReach).slip(true)
	return s.OK() && math.Round(s.Value) == 0
}

// beats reports whether a slip certainly explains the changes of a stretch better than
// another one.
func (e *end) beats(slip, other int, in Stretch, sigmas float64) bool {
	a := e.eyes.advantage(slip, other, in.From, in.To)
	return a.count >= minEndChanges && a.mean >= minAdvantage && a.sigmas >= sigmas
}

// tells reports whether a stretch shows that it has the slip.
func (e *end) tells(in Stretch) bool {
	return e.beats(e.slip, e.slip-1, in, sureSigmas) && e.beats(e.slip, e.slip+1, in, sureSigmas)
}

// unclear returns the frame up to which, or from which on, this end has to be seen to tell
// its slip.
func (e *end) unclear() int {
	for n := minEndChanges; n <= e.to-e.from; n++ {
		in := Stretch{e.from, e.from + n}
		if e.late {
			in = Stretch{e.to - n, e.to}
		}
		if e.tells(in) {
			if e.late {
				return in.From
			}
			return in.To
		}
	}
	if e.late {
		return e.from
	}
	return e.to
}
