package timing

import (
	"math"
	"slices"
	"time"

	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
)

// A point that moves down at vy shows in the picture of an eye that is δ frames late
// where it was δ frames before: higher by vy·δ than the geometry of the rig says
// (C. Albl, Z. Kukelova, A. Fitzgibbon, J. Heller, M. Smid, T. Pajdla, "On the
// two-view geometry of unsynchronized cameras", CVPR 2017). A rig does not change
// within a clip but by a slow drift, while speeds change from place to place and
// from moment to moment: so delay and geometry are fitted to all bursts of a clip
// together. Seen the other way round, the left eye's places are moved to where they
// were when the right eye saw them, and the fit is repeated until the delay moves
// them no further.
//
// Beside the terms of the geometry stand the columns
//
//	−vy          delay of the right eye at mid-height, frames
//	−vy·y'       how much the delay grows per picture height downwards
//	−vy·t        how much it grows from the middle of the clip to its ends
//	t, x'·t, y·t drift of offset, roll and zoom, t from −1 to 1 over the clip
const (
	timeDelay = geometry.TermCount + iota
	timeSkew
	timeRate
	timeOffset
	timeRoll
	timeZoom
	timeCount
)

const (
	// timingRounds is how often the fit is repeated, at most: each leaves what
	// the speed changes within what was still wrong.
	timingRounds = 6
	// timingReach is the longest delay, in frames, that is believed: beyond it the
	// places are moved by more than was seen of their motion.
	timingReach = 1.6
	// minRateBursts is how many bursts the change of the delay takes.
	minRateBursts = 4
	// driftPrior is how much offset, roll and zoom of a rig may drift from the
	// middle of a clip to its ends, in picture heights: two lines of 1080. The
	// project's own choice.
	driftPrior = 2.0 / 1080
)

// timingFit is the fit in progress.
type timingFit struct {
	stat.Regression
	bursts            []*Burst
	at                []float64 // time of each burst, −1 to 1 over the clip
	middle            time.Duration
	span              float64 // seconds from the first to the last
	line              geometry.Similarity
	delay, skew, rate float64
}

func newTimingFit(bursts []*Burst) *timingFit {
	f := &timingFit{bursts: bursts, line: geometry.Similarity{Cos: 1}}
	first, last := bursts[0].Time, bursts[0].Time
	for _, b := range bursts {
		first, last = min(first, b.Time), max(last, b.Time)
	}
	f.middle, f.span = (first+last)/2, (last - first).Seconds()
	n := 0
	for _, b := range bursts {
		at := 0.0
		if last > first {
			at = 2*(b.Time-first).Seconds()/f.span - 1
		}
		f.at = append(f.at, at)
		n += len(b.places)
	}
	f.Columns = timeCount
	f.Floor = geometry.ResidualFloor
	f.Rows = make([]float64, n*timeCount)
	f.Y, f.Base = make([]float64, n), make([]float64, n)
	f.Prior = append(geometry.PriorSE[:], math.Inf(1), 1, 1, driftPrior, 2*driftPrior, 2*driftPrior)
	if len(bursts) < minRateBursts {
		f.Prior[timeRate] = 1e-6
	}
	if f.span == 0 {
		f.Prior[timeOffset], f.Prior[timeRoll], f.Prior[timeZoom] = 1e-9, 1e-9, 1e-9
	}
	i := 0
	for _, b := range bursts {
		for _, p := range b.places {
			f.Base[i] = 1 / (stat.Sq(p.VerticalSE) + stat.Sq(geometry.ResidualFloor))
			i++
		}
	}
	norm := stat.Median(slices.Clone(f.Base))
	for i := range f.Base {
		f.Base[i] = min(f.Base[i]/norm, 4)
	}
	return f
}

// late returns by how many frames the right eye is late at a place of burst k, as
// far as is known.
func (f *timingFit) late(k int, p *Moving) float64 {
	return f.delay + f.skew*p.RightY + f.rate*f.at[k]
}

// bring moves the left eye's places to where they were when the right eye saw
// them, as far as is known, and fits what is left.
func (f *timingFit) bring(near bool) bool {
	var known geometry.Terms
	if near {
		known = geometry.Terms(f.Coef[:geometry.TermCount])
	}
	i := 0
	for k, b := range f.bursts {
		t := f.at[k]
		for j := range b.places {
			p := &b.places[j]
			x, y := p.seenLate(f.late(k, p))
			xr, yr := f.line.Undo(p.RightX, p.RightY)
			row := f.Row(i)
			of := known.Factors(x, y, xr, yr)
			copy(row, of[:])
			row[timeDelay], row[timeSkew], row[timeRate] = -p.Vy, -p.Vy*p.RightY, -p.Vy*t
			row[timeOffset], row[timeRoll], row[timeZoom] = t, xr*t, y*t
			f.Y[i] = yr - y
			i++
		}
	}
	if !f.Fit(near) {
		return false
	}
	f.line = f.line.With(geometry.Terms(f.Coef[:geometry.TermCount]))
	f.delay += f.Coef[timeDelay]
	f.skew += f.Coef[timeSkew]
	f.rate += f.Coef[timeRate]
	return true
}

// result takes the delay with its standard error out of the fit.
func (f *timingFit) result() *Timing {
	inverse := f.Inverse()
	var tiles, bursts []int
	var shifts []float64
	index := map[[3]int]int{}
	for k, b := range f.bursts {
		for j := range b.places {
			p := &b.places[j]
			shifts = append(shifts, math.Abs(f.late(k, p)*p.Vy))
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
	for _, w := range f.W {
		weight += w
	}
	byTile, byBurst := f.Sandwich(inverse, tiles), f.Sandwich(inverse, bursts)
	n := len(f.bursts)
	few := float64(n) / float64(max(n-burstTerms, 1))
	if n < minRateBursts {
		few = 0 // too few to tell
	}
	t := &Timing{middle: f.middle, span: f.span, shift: stat.Quantile(shifts, 0.95)}
	noise := f.speedNoise()
	for i, v := range []*float64{&t.Delay, &t.Skew, &t.rate} {
		c := timeDelay + i
		own := max(stat.Sq(f.Scale)*inverse.At(c, c), byTile.At(c, c))
		se := math.Sqrt(max(own, few*byBurst.At(c, c)) + stat.Sq(timingBias)*weight*inverse.At(c, c))
		// Noise in the speeds makes the coefficient come out too small (regression
		// calibration, as W. Fuller, Measurement Error Models, 1987; from memory).
		trust := 1 - noise[i]*inverse.At(c, c)
		if trust < minTrust {
			t.Se[i] = math.Inf(1)
			continue
		}
		*v = []float64{f.delay, f.skew, f.rate}[i] / trust
		t.Se[i] = math.Hypot(se/trust, (speedBias+trustSE*(1-trust)/trust)**v)
	}
	return t
}

// speedNoise returns what noise adds to the sums of the squares of the columns of
// the delay, with the weights of the fit.
func (f *timingFit) speedNoise() (noise [3]float64) {
	i := 0
	for k, b := range f.bursts {
		for j := range b.places {
			p := &b.places[j]
			v := f.W[i] * (stat.Sq(p.SE) + stat.Sq(trackFloor*b.line))
			for c, times := range [3]float64{1, p.RightY, f.at[k]} {
				noise[c] += v * stat.Sq(times)
			}
			i++
		}
	}
	return noise
}

const (
	// burstTerms is how many of the coefficients the bursts as wholes have to
	// settle: offset and its drift, the delay and its change.
	burstTerms = 4
	// timingBias is what does not average out of the places' heights, in picture
	// heights, as far as it goes with the speed: a quarter of the bias of
	// interpolating, which for the most part has other causes than speed.
	timingBias = 0.004 / 540
	// speedBias is by how much, as a share, a speed over two frames is off where
	// things swing: motion of one hertz in 24 frames a second loses 1.1 %.
	speedBias = 0.015
	// minTrust is the least share of what tells the delay that is not noise, for
	// the delay to be told; trustSE by how much the noise may be misjudged, as a
	// share of it.
	minTrust = 0.5
	trustSE  = 0.3
	// trackFloor is the noise of a speed that its patches do not show, in lines:
	// what interpolating between pixels leaves.
	trackFloor = 0.02
)
