package metrics

import (
	"math"
	"slices"
)

// A point that moves down at vy and is sampled δ frames late by the right eye
// shows there lower by vy·δ than the geometry of the rig says (C. Albl, Z.
// Kukelova, A. Fitzgibbon, J. Heller, M. Smid, T. Pajdla, "On the two-view
// geometry of unsynchronized cameras", CVPR 2017). A rig does not change within
// a clip but by a slow drift, while speeds change from place to place and from
// moment to moment: so delay and geometry are fitted to all bursts of a clip
// together. Seen the other way round, the left eye's places are moved on to the
// time at which the right eye saw them, and the fit is repeated until the delay
// moves them no further.
//
// Beside the terms of the geometry stand the columns
//
//	vy           delay of the right eye at mid-height, frames
//	vy·y'        how much the delay grows per picture height downwards
//	vy·t         how much it grows from the middle of the clip to its ends
//	t, x'·t, y·t drift of offset, roll and zoom, t from −1 to 1 over the clip
const (
	timeDelay = termCount + iota
	timeSkew
	timeRate
	timeOffset
	timeRoll
	timeZoom
	timeCount
)

// timing is the fitted delay of the right eye, with the covariance.
type timing struct {
	// In frames: at mid-height in the middle of the clip; more per picture height
	// downwards; more from the middle of the clip to its end.
	delay, skew, rate float64
	se                [3]float64
	span              float64 // seconds from the first burst to the last
}

const (
	// timingRounds is how often the fit is repeated, at most: each leaves what
	// the speed changes within what was still wrong.
	timingRounds = 6
	// timingReach is the longest delay, in frames, that is believed: beyond it the
	// places are moved on by more than was seen of their motion.
	timingReach = 1.6
	// rateLeast is how many bursts the change of the delay takes.
	rateLeast = 4
	// driftPrior is how much offset, roll and zoom of a rig may drift from the
	// middle of a clip to its ends, in picture heights: two lines of 1080. The
	// project's own choice.
	driftPrior = 2.0 / 1080
)

const noMotion = "not observable: too little vertical motion"

// fitTiming fits the delay to the bursts of a clip.
func fitTiming(bursts []*Burst) (*timing, string) {
	var used []*Burst
	reason := noMotion
	for _, b := range bursts {
		if b.missing == "" {
			used = append(used, b)
		} else {
			reason = b.missing
		}
	}
	if len(used) == 0 {
		return nil, reason
	}
	f := newTimingFit(used)
	for round := range timingRounds {
		if !f.bring(round > 0) {
			return nil, "the matched places do not fix the timing"
		}
		if math.Abs(f.coef[timeDelay]) < 1e-4 && math.Abs(f.coef[timeSkew]) < 1e-4 && math.Abs(f.coef[timeRate]) < 1e-4 {
			break
		}
		if math.Abs(f.delay) > timingReach {
			return nil, "the delay is too long to be measured from place to place"
		}
	}
	if f.scale > geometryScatter {
		return nil, "the matched places do not agree"
	}
	return f.result()
}

// timingFit is the fit in progress.
type timingFit struct {
	regression
	bursts            []*Burst
	at                []float64 // time of each burst, −1 to 1 over the clip
	span              float64   // seconds from the first to the last
	line              similarity
	delay, skew, rate float64
}

func newTimingFit(bursts []*Burst) *timingFit {
	f := &timingFit{bursts: bursts, line: similarity{cos: 1}}
	first, last := bursts[0].Time, bursts[0].Time
	for _, b := range bursts {
		first, last = min(first, b.Time), max(last, b.Time)
	}
	f.span = (last - first).Seconds()
	n := 0
	for _, b := range bursts {
		at := 0.0
		if last > first {
			at = 2*(b.Time-first).Seconds()/f.span - 1
		}
		f.at = append(f.at, at)
		n += len(b.places)
	}
	f.columns = timeCount
	f.floor = geometryFloor
	f.rows = make([]float64, n*timeCount)
	f.y, f.base = make([]float64, n), make([]float64, n)
	f.prior = append(priorSE[:], math.Inf(1), 1, 1, driftPrior, 2*driftPrior, 2*driftPrior)
	if len(bursts) < rateLeast {
		f.prior[timeRate] = 1e-6
	}
	if f.span == 0 {
		f.prior[timeOffset], f.prior[timeRoll], f.prior[timeZoom] = 1e-9, 1e-9, 1e-9
	}
	i := 0
	for _, b := range bursts {
		for _, p := range b.places {
			f.base[i] = 1 / (sq(p.SE) + sq(geometryFloor))
			i++
		}
	}
	norm := median(slices.Clone(f.base))
	for i := range f.base {
		f.base[i] = min(f.base[i]/norm, 4)
	}
	return f
}

// bring moves the left eye's places on to where the right eye saw them, as far
// as is known, and fits what is left.
func (f *timingFit) bring(near bool) bool {
	var known terms
	if near {
		known = terms(f.coef[:termCount])
	}
	i := 0
	for k, b := range f.bursts {
		t := f.at[k]
		for _, p := range b.places {
			late := f.delay + f.skew*p.RightY + f.rate*t
			x, y := p.LeftX+late*p.vx, p.LeftY+late*p.vy
			xr, yr := f.line.undo(p.RightX, p.RightY)
			row := f.row(i)
			of := known.factors(x, y, xr, yr)
			copy(row, of[:])
			row[timeDelay], row[timeSkew], row[timeRate] = p.vy, p.vy*p.RightY, p.vy*t
			row[timeOffset], row[timeRoll], row[timeZoom] = t, xr*t, y*t
			f.y[i] = yr - y
			i++
		}
	}
	if !f.fit(near) {
		return false
	}
	f.line = f.line.with(terms(f.coef[:termCount]))
	f.delay += f.coef[timeDelay]
	f.skew += f.coef[timeSkew]
	f.rate += f.coef[timeRate]
	return true
}

// result takes the delay with its standard error out of the fit.
func (f *timingFit) result() (*timing, string) {
	inverse := f.inverse()
	var tiles, bursts []int
	index := map[[3]int]int{}
	for k, b := range f.bursts {
		for _, p := range b.places {
			const tile = 6 // per picture height
			at := [3]int{k, int(math.Floor(p.LeftX * tile)), int(math.Floor(p.LeftY * tile))}
			if _, ok := index[at]; !ok {
				index[at] = len(index)
			}
			tiles = append(tiles, index[at])
			bursts = append(bursts, k)
		}
	}
	var weight float64
	for _, w := range f.w {
		weight += w
	}
	byTile, byBurst := f.sandwich(inverse, tiles), f.sandwich(inverse, bursts)
	n := len(f.bursts)
	few := float64(n) / float64(max(n-burstTerms, 1))
	if n < rateLeast {
		few = 0 // too few to tell
	}
	t := &timing{span: f.span, delay: f.delay, skew: f.skew, rate: f.rate}
	for i, v := range []float64{t.delay, t.skew, t.rate} {
		c := timeDelay + i
		own := max(sq(f.scale)*inverse.At(c, c), byTile.At(c, c))
		t.se[i] = math.Sqrt(max(own, few*byBurst.At(c, c)) + sq(timingBias)*weight*inverse.At(c, c) + sq(speedBias*v))
	}
	return t, ""
}

const (
	// burstTerms is how many of the coefficients the bursts as wholes have to
	// settle: offset and its drift, the delay and its change.
	burstTerms = 4
	// timingBias is what does not average out of the places' heights, in picture
	// heights, as far as it goes with the speed: a quarter of the bias of
	// interpolating, which for the most part has other causes than speed.
	timingBias = systematic / 4
	// speedBias is by how much, as a share, a speed over two frames is off where
	// things swing: motion of one hertz in 24 frames a second loses 1.1 %.
	speedBias = 0.015
)

// clockSE is the largest standard error, in parts per million, of a difference of
// clocks that is worth telling. The project's own choice.
const clockSE = 25

// ClockDrift returns by how many parts per million the right eye's clock runs
// slow: by how much it gets later while the clip goes on, at so many frames per
// second.
func ClockDrift(bursts []*Burst, rate float64) Measurement {
	t, reason := fitTiming(bursts)
	switch {
	case t == nil:
		return Missing(reason)
	case len(bursts) < rateLeast || t.span == 0 || rate <= 0:
		return Missing("too little of the clip was looked at")
	}
	million := 1e6 * 2 / (t.span * rate) // the fit's rate is from the middle to an end
	if t.se[2]*million > clockSE {
		return Missing("not observable: too little vertical motion, or too short")
	}
	return Measured(t.rate*million, t.se[2]*million)
}
