package timing

import (
	"math"

	"nightpair/metrics/stat"
)

// slipSearch is the eyes' changes held against each other at all slips.
type slipSearch struct {
	reach  int
	scores []score
	curve  []float64
}

// slipMargin is how far beyond the reach is looked: a slip there is not to be
// taken for one at its end.
const slipMargin = 3

func newSlipSearch(l, r series, reach int) *slipSearch {
	lags := 2*(reach+slipMargin) + 1
	s := &slipSearch{reach: reach, scores: make([]score, lags), curve: make([]float64, lags)}
	for i := range s.scores {
		s.scores[i] = compare(l, r, i-reach-slipMargin)
	}
	return s
}

// peak returns where the changes have most in common, without one of the parts of
// the time, −1 for none, and some of the components.
func (s *slipSearch) peak(part int, less span) (place float64, top int, ok bool) {
	for i := range s.scores {
		s.curve[i] = s.scores[i].value(part, less)
	}
	place, top, ok = peak(s.curve)
	return place - float64(s.reach+slipMargin), top, ok
}

// slip returns the slip, if there is no doubt of it. Thoroughly, the components of
// the changes must agree on it as the parts of the time do.
func (s *slipSearch) slip(thorough bool) Slip {
	place, top, ok := s.peak(-1, span{})
	if !ok {
		return Slip{Measurement: stat.Missing("not observable: too little changes over time")}
	}
	alike := 1 - math.Exp(-s.curve[top])
	clear := 1 - s.rival(top)/s.curve[top]
	missing := func(reason string) Slip {
		return Slip{Measurement: stat.Missing("not observable: " + reason), Clear: clear}
	}
	if alike < slipAlike {
		return missing("the eyes' pictures do not change alike")
	}
	if clear < slipClear {
		return missing("more than one offset would do")
	}
	most, wide := s.curve[top], s.width(top)
	var places []float64
	for part := range slipParts {
		p, _, ok := s.peak(part, span{})
		if !ok || math.Abs(p-place) > 1 {
			return missing("parts of the clip disagree")
		}
		places = append(places, p)
	}
	se := stat.Jackknife(places)
	for _, pieces := range changePieces {
		if !thorough {
			break
		}
		places = places[:0]
		for _, less := range pieces {
			switch p, top, ok := s.peak(-1, less); {
			case !ok || s.curve[top] < slipRest*most:
				// What is left says too little to agree or not.
			case math.Abs(p-place) > 1:
				return missing("what moves in the picture disagrees")
			default:
				places = append(places, p)
			}
		}
		if len(places) > 1 {
			se = max(se, stat.Jackknife(places))
		}
	}
	if thorough {
		se = math.Hypot(se, slipBias*wide)
	}
	certain := se < slipSE && math.Abs(place-math.Round(place))+se < 0.5
	if !certain || math.Abs(place) > float64(s.reach)+0.5 {
		uncertain := missing("the offset is not certain to the frame")
		uncertain.Rough = stat.Measured(place, se)
		return uncertain
	}
	return Slip{Measurement: stat.Measured(place, se), Clear: clear}
}

// width returns how far from its peak the curve has fallen by half, in frames.
func (s *slipSearch) width(top int) float64 {
	n := 0
	for i := top; i < len(s.curve) && s.curve[i] > s.curve[top]/2; i++ {
		n++
	}
	for i := top; i >= 0 && s.curve[i] > s.curve[top]/2; i-- {
		n++
	}
	return float64(n) / 2
}

// span is some of the components of a change, from … to−1.
type span struct{ from, to int }

// changePieces are the ways to part the components of a change: each by itself, and
// by what they tell. The eyes look from two places, so that what a camera does to
// the one kind of them may come sooner to one eye.
var changePieces = [][]span{
	func() (each []span) {
		for k := range changeCount {
			each = append(each, span{k, k + 1})
		}
		return each
	}(),
	{{changeLight, changeAcross}, {changeAcross, changeDown}, {changeDown, changeCount}},
}

// rival returns the highest that the curve reaches on another hill than that of its
// peak: beyond a valley that is lower by slipValley of it. It may waver within a
// hill.
func (s *slipSearch) rival(top int) (highest float64) {
	for _, step := range []int{-1, 1} {
		least := s.curve[top]
		for i := top + step; i >= 0 && i < len(s.curve); i += step {
			least = min(least, s.curve[i])
			if least < (1-slipValley)*s.curve[i] {
				highest = max(highest, s.curve[i])
			}
		}
	}
	return highest
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
	return float64(top) + stat.ParabolaPeak(curve[top-1], curve[top], curve[top+1]), top, true
}

// score gathers, for one slip, what the correlations of the changes need, part
// by part of the time.
type score struct {
	parts [slipParts]struct {
		n                float64
		l, r, ll, rr, lr change
	}
}

func compare(left, right series, slip int) score {
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

// value returns how much the changes have in common, without one of the parts, −1
// for none, and some of the components: the mean over the components of −log(1−ρ²),
// ρ being the correlation.
func (s *score) value(without int, less span) float64 {
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
			lf[k] += stat.Sq(slipSteady)*a/count + n*stat.Sq(unit)
			rf[k] += stat.Sq(slipSteady)*b/count + n*stat.Sq(unit)
		}
	}
	const faint = 0.002 // cells
	floor(changeEnergy, changeAcross, faint)
	floor(changeAcross, changeCount, faint)
	// Brightness also changes with what enters and leaves.
	lf[changeLight], rf[changeLight] = n*stat.Sq(faintLight), n*stat.Sq(faintLight)
	var sum float64
	for k := range changeCount {
		if k >= less.from && k < less.to {
			continue
		}
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
