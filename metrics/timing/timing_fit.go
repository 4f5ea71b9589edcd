package timing

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/floats"

	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
)

// The columns of the regression, behind those of the rig's geometry; t runs from −1 to 1
// over the clip:
//
//	−vy          delay of the right eye at mid-height, frames
//	−vy·y'       growth of the delay per picture height downwards
//	−vy·t        growth of the delay from the middle of the clip to its end
//	t, x'·t, y·t drift of offset, roll and zoom
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
	// timingRounds is how often the fit is repeated at most: the left eye's places are moved
	// to where they were when the right eye saw them, until the delay moves them no
	// farther.
	timingRounds = 6
	// timingReach is the longest delay in frames: a longer one moves the places farther than
	// they were followed.
	timingReach = 1.6
	// minRateBursts is how many bursts the change of the delay over the clip takes.
	minRateBursts = 4
	// driftPrior is the prior standard error of the rig's drift from the middle of a clip to
	// its ends, in picture heights: two lines of 1080. The project's own choice.
	driftPrior = 2.0 / 1080
)

// timingFit is the fit of a timing in progress.
type timingFit struct {
	stat.Regression
	bursts            []*Burst
	at                []float64 // by burst: its time, −1 to 1 over the clip
	middle            time.Duration
	span              float64             // seconds from the first to the last
	line              geometry.Similarity // what is taken out of the right places exactly
	own               float64             // the parallax that is counted from
	delay, skew, rate float64             // so far
	like              [3]bool             // the geometry could do the same as each of them
}

// newTimingFit prepares the fit to bursts that have places.
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
	parallax := make([]float64, n)
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
			parallax[i] = p.RightX - p.LeftX
			f.Base[i] = 1 / (stat.Sq(p.VerticalSE) + stat.Sq(geometry.ResidualFloor))
			i++
		}
	}
	f.own = floats.Dot(parallax, f.Base) / floats.Sum(f.Base)
	norm := stat.Median(slices.Clone(f.Base))
	for i := range f.Base {
		f.Base[i] = min(f.Base[i]/norm, 4)
	}
	return f
}

// lateness returns by how many frames the right eye is late at a place of burst k, so far.
func (f *timingFit) lateness(k int, p *MovingMatch) float64 {
	return f.delay + f.skew*p.RightY + f.rate*f.at[k]
}

// iterate moves the left eye's places by the delay so far and fits what remains. Near says
// that this was done before. It reports false where the places do not determine the timing.
func (f *timingFit) iterate(near bool) bool {
	var known geometry.Terms
	if near {
		known = geometry.Terms(f.Coef[:geometry.TermCount])
	}
	i := 0
	for k, b := range f.bursts {
		t := f.at[k]
		for j := range b.places {
			p := &b.places[j]
			x, y := p.earlier(f.lateness(k, p))
			xr, yr := f.line.Undo(p.RightX, p.RightY)
			row := f.Row(i)
			of := known.Factors(x, y, xr, yr, f.own)
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
	// At any of the delays on the way: where the camera travels sideways, too, the wrong one
	// moves the places to where nothing has parallax, and nothing seems to be like height.
	for i := range f.like {
		f.like[i] = f.like[i] || f.explained(timeDelay+i) > maxExplained
	}
	f.line = f.line.With(geometry.Terms(f.Coef[:geometry.TermCount]))
	f.delay += f.Coef[timeDelay]
	f.skew += f.Coef[timeSkew]
	f.rate += f.Coef[timeRate]
	return true
}

// result returns the timing with its standard errors. They are the largest of what single
// places, tiles of the picture and whole bursts show.
func (f *timingFit) result() *Timing {
	inverse := f.Inverse()
	var tiles, bursts []int
	var shifts []float64
	index := map[[3]int]int{}
	for k, b := range f.bursts {
		for j := range b.places {
			p := &b.places[j]
			shifts = append(shifts, math.Abs(f.lateness(k, p)*p.Vy))
			const tile = 6 // tiles per picture height
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
	inflation := float64(n) / float64(max(n-burstTerms, 1))
	if n < minRateBursts {
		inflation = 0 // too few to show what they share
	}
	t := &Timing{like: f.like, middle: f.middle, span: f.span, displacement: stat.Quantile(shifts, 0.95)}
	noise := f.speedNoise()
	for i, v := range []*float64{&t.Delay, &t.Skew, &t.rate} {
		c := timeDelay + i
		own := max(stat.Sq(f.Scale)*inverse.At(c, c), byTile.At(c, c))
		se := math.Sqrt(max(own, inflation*byBurst.At(c, c)) + stat.Sq(timingBias)*weight*inverse.At(c, c))
		// Noise in the speeds attenuates the coefficient (regression calibration).
		reliability := 1 - noise[i]*inverse.At(c, c)
		if reliability < minReliability || f.like[i] {
			t.SE[i] = math.Inf(1)
			continue
		}
		*v = []float64{f.delay, f.skew, f.rate}[i] / reliability
		t.SE[i] = math.Hypot(se/reliability, (speedBias+reliabilitySE*(1-reliability)/reliability)**v)
	}
	return t
}

// explained returns the share, 0 to 1, of what the motion of the picture as a whole leaves of
// a column of the delay that camera height and forward offset explain: the squared multiple
// correlation of its coefficient's error with theirs.
func (f *timingFit) explained(column int) float64 {
	const h, z = int(geometry.TermHeight), int(geometry.TermForward)
	v := f.Inverse()
	det := v.At(h, h)*v.At(z, z) - stat.Sq(v.At(h, z))
	if det <= 0 {
		return 1
	}
	ch, cz := v.At(column, h), v.At(column, z)
	return (ch*ch*v.At(z, z) - 2*ch*cz*v.At(h, z) + cz*cz*v.At(h, h)) / (det * v.At(column, column))
}

// speedNoise returns what noise of the speeds adds to the weighted sums of squares of the
// three columns of the delay.
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
	// burstTerms is how many coefficients whole bursts determine: the offset with its drift,
	// and the delay with its change.
	burstTerms = 4
	// timingBias is the part of the places' errors that does not average out and goes with
	// the speed, in picture heights: a quarter of the bias of interpolating, most of which
	// has other causes than speed.
	timingBias = 0.004 / 540
	// speedBias is the relative error of a speed over two frames where things swing: a motion
	// of 1 Hz at 24 frames per second seems 1.1 % too slow.
	speedBias = 0.015
	// minReliability is the least share of the variance of the speeds that is not noise, and
	// reliabilitySE the relative standard error of the noise.
	minReliability = 0.5
	reliabilitySE  = 0.3
	// trackFloor is the noise of a speed that its patches do not show, in lines per frame:
	// that of interpolating between pixels.
	trackFloor = 0.02
	// maxExplained is the largest share of a column of the delay that camera height and
	// forward offset may explain. Beyond it the errors of the speeds would have to tell them
	// apart: a still scene under steady travel moves up or down by as much as it has parallax,
	// which is what camera height does. With swinging cameras the share is below a tenth. The
	// project's own choice.
	maxExplained = 0.8
)
