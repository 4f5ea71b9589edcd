package timing

import (
	"math"

	"nightpair/metrics/stat"
)

// slipSearch compares the eyes' changes at all slips.
type slipSearch struct {
	reach  int       // slips of up to so many frames either way count
	scores []score   // by slip, from −reach − slipMargin
	curve  []float64 // of the last peak asked for, likewise
}

// slipMargin is by how many frames the search goes beyond its reach, so that a slip out
// there is not taken for one within.
const slipMargin = 3

func newSlipSearch(l, r changeSeries, reach int) *slipSearch {
	lags := 2*(reach+slipMargin) + 1
	s := &slipSearch{reach: reach, scores: make([]score, lags), curve: make([]float64, lags)}
	for i := range s.scores {
		s.scores[i] = compare(l, r, i-reach-slipMargin)
	}
	return s
}

// peak returns the slip at which the changes have the most in common, with its index,
// leaving out one part of the time (−1 for none) and some of the components.
func (s *slipSearch) peak(part int, less components) (place float64, top int, ok bool) {
	for i := range s.scores {
		s.curve[i] = s.scores[i].value(part, less)
	}
	place, top, ok = peak(s.curve)
	return place - float64(s.reach+slipMargin), top, ok
}

// slip returns the slip, or why it is missing. All parts of the time must agree on it.
// Thorough asks the same of the components of the changes, and counts the bias of the
// points of view.
func (s *slipSearch) slip(thorough bool) Slip {
	place, top, ok := s.peak(-1, components{})
	if !ok {
		return Slip{Measurement: stat.Missing("not observable: too little changes over time")}
	}
	correlation := 1 - math.Exp(-s.curve[top]) // mean squared
	clear := 1 - s.rival(top)/s.curve[top]
	missing := func(reason string) Slip {
		return Slip{Measurement: stat.Missing("not observable: " + reason), Clear: clear}
	}
	if correlation < minCorrelation {
		return missing("the eyes' pictures do not change alike")
	}
	if clear < minClear {
		return missing("more than one offset would do")
	}
	height, width := s.curve[top], s.width(top)
	var places []float64
	for part := range slipParts {
		p, _, ok := s.peak(part, components{})
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
			case !ok || s.curve[top] < minEvidence*height:
				// The rest says too little to agree or disagree.
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
		se = math.Hypot(se, slipBias*width)
	}
	certain := se < maxSlipSE && math.Abs(place-math.Round(place))+se < 0.5
	if !certain || math.Abs(place) > float64(s.reach)+0.5 {
		uncertain := missing("the offset is not certain to the frame")
		uncertain.Rough = stat.Measured(place, se)
		return uncertain
	}
	return Slip{Measurement: stat.Measured(place, se), Clear: clear}
}

// width returns the half width at half height of the hill around an index, in frames.
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

// components is a range of the components of a change: from … to−1.
type components struct{ from, to int }

// changePieces are two ways to part the components of a change: one by one, and by kind.
// What a moving camera does to one kind of them may come sooner to one eye, because the
// eyes look from two places.
var changePieces = [][]components{
	func() (each []components) {
		for k := range changeCount {
			each = append(each, components{k, k + 1})
		}
		return each
	}(),
	{{changeLight, changeAcross}, {changeAcross, changeDown}, {changeDown, changeCount}},
}

// rival returns the highest value of the curve on another hill than that of its peak:
// beyond a valley that is minValley lower. Smaller ups and downs belong to one hill.
func (s *slipSearch) rival(top int) (highest float64) {
	for _, step := range []int{-1, 1} {
		lowest := s.curve[top]
		for i := top + step; i >= 0 && i < len(s.curve); i += step {
			lowest = min(lowest, s.curve[i])
			if lowest < (1-minValley)*s.curve[i] {
				highest = max(highest, s.curve[i])
			}
		}
	}
	return highest
}

// peak returns the place of a curve's maximum, between its points, with the index of the
// highest point. It reports false where that is at an end or not above 0.
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

// score gathers, for one slip, the sums that the correlations of the changes take, by parts
// of the time.
type score struct {
	parts [slipParts]struct {
		n                float64
		l, r, ll, rr, lr change
	}
}

// compare gathers the score of a slip, at which right[i+slip] goes with left[i].
func compare(left, right changeSeries, slip int) score {
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

// value returns how much the changes have in common, leaving out one part of the time (−1
// for none) and some of the components: the mean over the components of −log(1−ρ²), ρ being
// the correlation where it is positive. For normal variables that is twice their mutual
// information.
func (s *score) value(without int, less components) float64 {
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
	if n < minOverlap {
		return 0
	}
	// The variance of each component is raised by what it must vary against.
	var lf, rf change
	floor := func(from, to int, unit float64) {
		var a, b float64
		for k := from; k < to; k++ {
			a += ll[k]
			b += rr[k]
		}
		count := float64(to - from)
		for k := from; k < to; k++ {
			lf[k] += stat.Sq(minVariation)*a/count + n*stat.Sq(unit)
			rf[k] += stat.Sq(minVariation)*b/count + n*stat.Sq(unit)
		}
	}
	const faint = 0.002 // cells
	floor(changeEnergy, changeAcross, faint)
	floor(changeAcross, changeCount, faint)
	// The brightness has a floor of its own.
	lf[changeLight], rf[changeLight] = n*stat.Sq(brightnessFloor), n*stat.Sq(brightnessFloor)
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
