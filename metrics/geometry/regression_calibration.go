package geometry

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"nightpair/metrics/stat"
)

// regressionCalibration returns what to add to the parallax of each match, in picture heights,
// to make it its expected value given all the evidence.
//
// The evidence on a match is its own parallax, with the error Match.parallaxSE, and the ring: the
// median parallax of matches around it that share no pixels with it, and so none of its
// noise. Both are taken relative to a smooth surface over the picture, which the other terms
// could explain as well. The ring is shrunk by the slope with which it predicts the matches;
// what it leaves unexplained beyond noise is the signal, by which the match's own parallax is
// weighed against the ring. A match that is not reliable has the median of the reliable ones next
// to it weighed instead; without any it gets weight 0. Where most matches are not reliable, parallax is
// replaced by the smooth surface, and depth counts for nothing.
func (f *fitter) regressionCalibration(depth []float64) (change []float64) {
	change = make([]float64, len(depth))
	known := f.reliable(depth)
	surface := f.surface(depth, known)
	if surface == nil {
		return change // too few, or all on a line: depth counts for nothing then
	}
	relief := make([]float64, len(depth))
	floats.SubTo(relief, depth, surface)
	f.downweight(relief)
	if len(known) < len(depth)/2 {
		floats.Sub(change, relief)
		return change
	}
	ring := f.ring(relief, known)
	slope := shrinkage(ring, relief, known)
	var signal, meanNoise float64 // variances: of what the ring does not predict, and of noise
	for _, i := range known {
		signal += stat.Sq(relief[i]-slope*ring[i]) / float64(len(known))
		meanNoise += f.noise(i) / float64(len(known))
	}
	signal = max(signal-meanNoise, 0)
	isKnown := make([]bool, len(depth))
	for _, i := range known {
		isKnown[i] = true
	}
	var around []float64
	for i := range depth {
		around = around[:0]
		for _, j := range f.neighbours[i] {
			if isKnown[j] {
				around = append(around, relief[j])
			}
		}
		expected := slope * ring[i]
		switch {
		case isKnown[i]:
			expected += (relief[i] - expected) * signal / (signal + f.noise(i))
		case len(around) > 0:
			expected += (stat.Median(around) - expected) * signal / (signal + meanNoise)
		default:
			f.Base[i] = 0 // its depth is unknown
		}
		change[i] = expected - relief[i]
	}
	return change
}

// shrinkage returns the least-squares slope, limited to 0 to 1, of the line through the origin
// and the listed values.
func shrinkage(x, y []float64, listed []int) float64 {
	var both, square float64
	for _, i := range listed {
		both += x[i] * y[i]
		square += stat.Sq(x[i])
	}
	if both <= 0 {
		return 0
	}
	return min(both/square, 1)
}

// downweight lowers the weight, at the start of the fit, of matches whose parallax departs far
// more from the smooth surface than that of others. Such matches, often several side by
// side, were found at a wrong place of their row; with their long lever they would hold the
// terms that are multiplied by parallax near zero.
func (f *fitter) downweight(relief []float64) {
	const maxDeviation = 2 // robust standard deviations
	size := make([]float64, len(relief))
	for i, b := range relief {
		size[i] = math.Abs(b)
	}
	bound := maxDeviation * stat.MADToSigma * stat.Median(slices.Clone(size))
	f.Trust = make([]float64, len(relief))
	for i, s := range size {
		f.Trust[i] = stat.Sq(min(bound/max(s, ResidualFloor), 1))
	}
}

// noise returns the error variance of the parallax of a match, in square picture heights.
func (f *fitter) noise(i int) float64 {
	return stat.Sq(f.matches[i].parallaxSE) + stat.Sq(placeSE*f.matches[i].framePixel) + stat.Sq(ResidualFloor)
}

// reliable lists the matches whose parallax counts: those that are unambiguous, exact, and
// agree with enough of the unambiguous ones around.
func (f *fitter) reliable(depth []float64) (list []int) {
	const tolerance, minShare = 1.0 / 540, 0.25 // picture heights; share of the matches around
	for i := range depth {
		var around, agree float64
		for _, j := range f.neighbours[i] {
			if j == i || !f.matches[j].Unambiguous {
				continue
			}
			around++
			if stat.Sq(depth[i]-depth[j]) < stat.Sq(tolerance)+stat.Sq(stat.BiweightCutoff)*(f.noise(i)+f.noise(j)) {
				agree++
			}
		}
		if f.matches[i].Unambiguous && f.matches[i].parallaxSE < tolerance && agree >= minShare*around {
			list = append(list, i)
		}
	}
	return list
}

// ring returns for each match the median of the values of the known matches around it that
// are too far away to share pixels with it; where there are none, 0, which is the smooth surface.
func (f *fitter) ring(values []float64, known []int) []float64 {
	const inner, outer = 20.0 / 540, 45.0 / 540 // picture heights
	at := newGrid(f.matches, known, 1/outer)
	ring := make([]float64, len(values))
	var near []int
	var around []float64
	for i := range f.matches {
		m := &f.matches[i]
		around = around[:0]
		near = at.around(near[:0], m)
		for _, j := range near {
			o := &f.matches[j]
			if d := max(math.Abs(o.LeftX-m.LeftX), math.Abs(o.LeftY-m.LeftY)); d > inner && d < outer {
				around = append(around, values[j])
			}
		}
		if len(around) > 0 {
			ring[i] = stat.Median(around)
		}
	}
	return ring
}

// surface returns, at all matches, the quadratic surface over the left picture, with the cubic
// term of lens distortion, that fits the values of the known ones best; nil where they do not
// determine it.
func (f *fitter) surface(values []float64, known []int) []float64 {
	const terms = 7
	if len(known) < 2*terms {
		return nil
	}
	row := func(i int) []float64 {
		x, y := f.matches[i].LeftX, f.matches[i].LeftY
		return []float64{1, x, y, x * x, x * y, y * y, y * (x*x + y*y)}
	}
	a, b := mat.NewDense(len(known), terms, nil), mat.NewVecDense(len(known), nil)
	for n, i := range known {
		a.SetRow(n, row(i))
		b.SetVec(n, values[i])
	}
	var through mat.VecDense
	if through.SolveVec(a, b) != nil {
		return nil
	}
	surface := make([]float64, len(f.matches))
	for i := range surface {
		surface[i] = mat.Dot(&through, mat.NewVecDense(terms, row(i)))
	}
	return surface
}
