package metrics

import (
	"math"
)

// Slip is by how many frames the right eye's file shows the same instants later
// than the left one's, as the pictures' changes tell it.
type Slip struct {
	Measurement
	// Clear is how much better the pictures go together so than at the next best
	// slip that is not a neighbour, 0 to 1.
	Clear float64
}

const (
	// slipOverlap is the least number of changes that two pieces must share to be
	// compared: most of a second.
	slipOverlap = 20
	// slipParts is in how many parts of the time the slip must show alike.
	slipParts = 8
	// slipSteady is how large the change of a signature over time must be, as a
	// share of the change itself: texture that enters and leaves a picture that
	// moves steadily makes some hundredths, and comes later to one eye than to the
	// other for another reason than time. The project's own choice.
	slipSteady = 0.1
	// faintLight is a change of the mean brightness, in code values, that a picture
	// well makes by what enters and leaves it.
	faintLight = 1
	slipClear  = 0.15 // the least Clear of a slip that is believed
	slipAlike  = 0.3  // the least mean squared correlation
	// A slip is certain to the frame when its standard error is less than slipSE
	// frames, or no next frame lies within slipMargin of them.
	slipSE     = 0.2
	slipMargin = 1.5
)

// FindSlip compares the eyes' signatures at all slips up to reach frames either
// way. Signatures are of consecutive frames, left[i] and right[i] of the same
// number; nil where a frame is missing.
func FindSlip(left, right []*Signature, reach int) Slip {
	return slipOf(changes(left), changes(right), reach)
}

func slipOf(l, r course, reach int) Slip {
	const margin = 3 // a slip beyond the reach is not to be taken for one at its end
	lags := 2*(reach+margin) + 1
	scores := make([]score, lags)
	for i := range scores {
		scores[i] = compare(l, r, i-reach-margin)
	}
	curve := make([]float64, lags)
	at := func(without int) (float64, int, bool) {
		for i := range scores {
			curve[i] = scores[i].value(without)
		}
		return peak(curve)
	}
	place, top, ok := at(-1)
	if !ok {
		return Slip{Measurement: Missing("not observable: too little changes over time")}
	}
	alike := 1 - math.Exp(-curve[top])
	next := 0.0
	for i, v := range curve {
		if outside(curve, top, i) {
			next = max(next, v)
		}
	}
	clear := 1 - next/curve[top]
	if alike < slipAlike {
		return Slip{Measurement: Missing("not observable: the eyes' pictures do not change alike"), Clear: clear}
	}
	if clear < slipClear {
		return Slip{Measurement: Missing("not observable: more than one offset would do"), Clear: clear}
	}
	var sum, square float64
	for part := range slipParts {
		p, _, ok := at(part)
		if !ok || math.Abs(p-place) > 1 {
			return Slip{Measurement: Missing("not observable: parts of the clip disagree"), Clear: clear}
		}
		sum += p
		square += p * p
	}
	mean := sum / slipParts
	se := math.Sqrt((slipParts - 1) * max(square/slipParts-mean*mean, 0))
	place -= float64(reach + margin)
	certain := se < slipSE || math.Abs(place-math.Round(place))+slipMargin*se < 0.5
	if !certain || math.Abs(place) > float64(reach)+0.5 {
		return Slip{Measurement: Missing("not observable: the offset is not certain to the frame"), Clear: clear}
	}
	return Slip{Measurement: Measured(place, se), Clear: clear}
}

// outside reports whether entry i does not belong to the hill of the peak: the
// curve has come down and risen again in between.
func outside(curve []float64, top, i int) bool {
	step := 1
	if i < top {
		step = -1
	}
	least := curve[top]
	for k := top; k != i; {
		k += step
		if curve[k] > least {
			return true
		}
		least = curve[k]
	}
	return false
}

// peak returns where a curve is highest, between its points, unless that is at
// its end.
func peak(curve []float64) (place float64, top int, ok bool) {
	for i, v := range curve {
		if v > curve[top] {
			top = i
		}
	}
	if top == 0 || top == len(curve)-1 || curve[top] <= 0 {
		return 0, 0, false
	}
	return float64(top) + vertex(curve[top-1], curve[top], curve[top+1]), top, true
}

// score gathers, for one slip, what the correlations of the changes need, part
// by part of the time.
type score struct {
	parts [slipParts]struct {
		n                float64
		l, r, ll, rr, lr change
	}
}

func compare(left, right course, slip int) score {
	var s score
	first, last := max(0, -slip), min(len(left), len(right)-slip)
	for i := first; i < last; i++ {
		l, r := left[i], right[i+slip]
		if l == nil || r == nil {
			continue
		}
		p := &s.parts[(i-first)*slipParts/(last-first)]
		p.n++
		for k := range changeCount {
			p.l[k] += l[k]
			p.r[k] += r[k]
			p.ll[k] += l[k] * l[k]
			p.rr[k] += r[k] * r[k]
			p.lr[k] += l[k] * r[k]
		}
	}
	return s
}

// value returns how much the changes have in common, without one of the parts:
// the mean over the components of −log(1−ρ²), ρ being the correlation.
func (s *score) value(without int) float64 {
	var n float64
	var l, r, ll, rr, lr change
	for i := range s.parts {
		if i == without {
			continue
		}
		p := &s.parts[i]
		n += p.n
		for k := range changeCount {
			l[k] += p.l[k]
			r[k] += p.r[k]
			ll[k] += p.ll[k]
			rr[k] += p.rr[k]
			lr[k] += p.lr[k]
		}
	}
	if n < slipOverlap {
		return 0
	}
	// What each component has to vary against.
	var lf, rf change
	floor := func(from, to int, unit float64) {
		var a, b float64
		for k := from; k < to; k++ {
			a += ll[k]
			b += rr[k]
		}
		count := float64(to - from)
		for k := from; k < to; k++ {
			lf[k] += sq(slipSteady)*a/count + n*sq(unit)
			rf[k] += sq(slipSteady)*b/count + n*sq(unit)
		}
	}
	const faint = 0.002 // cells
	floor(changeEnergy, changeAcross, faint)
	floor(changeAcross, changeCount, faint)
	// Brightness also changes with what enters and leaves.
	lf[changeLight], rf[changeLight] = n*sq(faintLight), n*sq(faintLight)
	var sum float64
	for k := range changeCount {
		vl := ll[k] - l[k]*l[k]/n + lf[k]
		vr := rr[k] - r[k]*r[k]/n + rf[k]
		c := lr[k] - l[k]*r[k]/n
		if c <= 0 {
			continue
		}
		sum -= math.Log(max(1-c*c/(vl*vr), 1e-6))
	}
	return sum / changeCount
}
