package focus

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"nightpair/metrics/stat"
)

const (
	// leakShare is the share of the coarsest ring's power that leaks into any other.
	leakShare = 2e-6
	// ownDoubt is the part of what only one eye shows that may be wrongly attributed.
	ownDoubt = 0.5
	// misfit is the relative standard deviation of the power of one ring of one patch
	// for all other reasons, and misfitBlur, in bins², the least standard deviation of
	// the blur between patches.
	misfit     = 0.085
	misfitBlur = 0.002
	// rejectAt is the distance in robust standard deviations from which on a patch has no
	// weight (the constant of Tukey's biweight).
	rejectAt = 5
)

// patchFit holds the normal equations of one patch for three unknowns: what remains of
// the blur, and the errors of the right and of the left eye's noise, in units of their
// standard errors. Each patch has a gain of its own, which has been eliminated.
type patchFit struct {
	a     [3][3]float64
	v     [3]float64
	own   [3]float64 // the change of v when ownDoubt of what only one eye shows is taken out
	all   float64    // the sum of the squares of the observations
	rings int        // how many are used
	tile  int

	excess float64 // reduced χ² of the patch's rings where it is above 1
}

// fitPatches fits what remains of the blur, in bins², to all patches at once by
// iteratively reweighted least squares, given the blur so far and the logarithm of the
// eyes' ratio of power. The eyes' spectra must be nearly equal already: then what window,
// rings and texture do to them is equal too.
func (c *blurFit) fitPatches(blur, level float64) (_, variance float64, ok bool) {
	fits := c.patchFits(blur, math.Exp(level))
	if len(fits) < minPatches {
		return 0, 0, false
	}
	weight := make([]float64, len(fits))
	for i := range weight {
		weight[i] = 1
	}
	scatter := stat.Sq(misfitBlur)
	var u [3]float64
	var inverse *mat.SymDense
	off := make([]float64, len(fits))
	const rounds = 4
	for range rounds {
		u, inverse, ok = solve(fits, weight, scatter)
		if !ok {
			return 0, 0, false
		}
		for i := range fits {
			fits[i].excess = fits[i].excessAt(u)
			off[i] = fits[i].off(u)
		}
		scatter = scatterOf(fits, off)
		for i := range fits {
			z := off[i] / math.Sqrt(fits[i].variance()+scatter) / rejectAt
			weight[i] = stat.Sq(max(1-z*z, 0))
		}
	}
	if u, inverse, ok = solve(fits, weight, scatter); !ok {
		return 0, 0, false
	}
	ownBias := 0.0
	// Neighbours share their errors, so scores are summed over tiles of the picture (see
	// stat.Regression.Sandwich).
	var tiles [tilesAcross * tilesAcross]struct {
		score [3]float64
		n     int
	}
	for i := range fits {
		f := &fits[i]
		w := weight[i] / (f.excess + f.a[0][0]*scatter)
		tile := &tiles[f.tile]
		for j := range u {
			ownBias += w * inverse.At(0, j) * f.own[j]
			tile.score[j] += w * (f.v[j] - f.a[j][0]*u[0] - f.a[j][1]*u[1] - f.a[j][2]*u[2])
		}
		tile.n++
	}
	n := 0.0
	for i := range tiles {
		if tiles[i].n > 0 {
			n++
			variance += stat.Sq(inverse.At(0, 0)*tiles[i].score[0] + inverse.At(0, 1)*tiles[i].score[1] + inverse.At(0, 2)*tiles[i].score[2])
		}
	}
	if n < minTiles {
		return 0, 0, false
	}
	variance = max(variance*n/(n-1), inverse.At(0, 0))
	// What only one eye shows may be detail that a codec added to it, or took from the
	// other: it counts as an error either way.
	return blur + u[0], variance + stat.Sq(ownBias), true
}

// patchFits sets up the patches' normal equations, for a blur in bins² and a gain of the
// left eye's power.
func (c *blurFit) patchFits(blur, gain float64) []patchFit {
	last := c.lastRing(blur)
	// Where less noise was found than estimated, the estimate may still be right.
	doubt := max(noiseDoubt, 1/c.noiseScale-1)
	rings := len(c.logFade)
	var fits []patchFit
	w, e, own := make([]float64, rings), make([]float64, rings), make([]float64, rings)
	columns := make([][3]float64, rings)
	c.eachPatch(blur, func(p *patch, _ *spectrum, s powers) {
		for k := range rings {
			s.left[k] *= gain
			s.leftNoise[k] *= gain
		}
		left, right := c.fft.smoothed(s.left, 2), c.fft.smoothed(s.right, 2)
		leak := leakShare * (s.left[1] + s.right[1]) / 2
		used := 0
		var sum, mean, meanOwn float64
		var middle [3]float64
		for k := firstRing; k <= last; k++ {
			w[k] = 0
			l, r := s.leftNoise[k], s.rightNoise[k]
			// The power of what both show, mostly by the eye with less noise.
			const powerError = 1e-3 // relative error of a spectrum without noise
			a, b := 1/(l+powerError*left[k]), 1/(r+powerError*right[k])
			power := (a*(left[k]-l) + b*(right[k]-r)) / (a + b)
			if !(power > max(l, r)/4) {
				continue
			}
			// Half the frequencies of a ring are independent behind the window.
			noise := (l*(l+2*power) + r*(r+2*power)) / stat.Sq(power) / (float64(len(c.fft.places[k])) / 2)
			w[k] = 1 / (stat.Sq(misfit) + noise + stat.Sq(leak/power))
			e[k] = ((s.right[k] - r) - (s.left[k] - l)) / power
			columns[k] = [3]float64{c.logFade[k], doubt * r / power, -doubt * l / power}
			own[k] = -ownDoubt * c.ownShare[k] * right[k] / power
			if c.spectra.by < 0 {
				own[k] = ownDoubt * c.ownShare[k] * left[k] / power
			}
			meanOwn += w[k] * own[k]
			sum += w[k]
			mean += w[k] * e[k]
			for i, x := range columns[k] {
				middle[i] += w[k] * x
			}
			used++
		}
		if used < 4 {
			return
		}
		f := patchFit{tile: p.tile, rings: used, excess: 1}
		for k := firstRing; k <= last; k++ {
			if w[k] == 0 {
				continue
			}
			d := columns[k]
			for i := range d {
				d[i] -= middle[i] / sum
			}
			f.all += w[k] * stat.Sq(e[k]-mean/sum)
			for i := range d {
				for j := range d {
					f.a[i][j] += w[k] * d[i] * d[j]
				}
				f.v[i] += w[k] * d[i] * (e[k] - mean/sum)
				f.own[i] += w[k] * d[i] * (own[k] - meanOwn/sum)
			}
		}
		fits = append(fits, f)
	})
	return fits
}

// off returns by how many bins² the patch shows more blur than the solution u.
func (f *patchFit) off(u [3]float64) float64 {
	return (f.v[0] - f.a[0][0]*u[0] - f.a[0][1]*u[1] - f.a[0][2]*u[2]) / f.a[0][0]
}

// excessAt returns the reduced χ² of the patch's rings at the solution u, at least 1. It
// is large for instance where the patch holds the edge of something near.
func (f *patchFit) excessAt(u [3]float64) float64 {
	rest := f.all
	for i := range u {
		rest -= 2 * u[i] * f.v[i]
		for j := range u {
			rest += u[i] * f.a[i][j] * u[j]
		}
	}
	return max(rest/float64(f.rings-2), 1)
}

// variance returns the variance of off, in bins⁴.
func (f *patchFit) variance() float64 { return f.excess / f.a[0][0] }

// solve returns what remains of the blur and the errors of the right and left eye's
// noise, with the inverse of the normal matrix. Between patches the blur has the variance
// scatter besides that of noise. It reports false where the matrix is singular.
func solve(fits []patchFit, weight []float64, scatter float64) (u [3]float64, inverse *mat.SymDense, ok bool) {
	a := mat.NewSymDense(3, nil)
	v := mat.NewVecDense(3, nil)
	for i := range fits {
		f := &fits[i]
		w := weight[i] / (f.excess + f.a[0][0]*scatter)
		for j := range 3 {
			for k := j; k < 3; k++ {
				a.SetSym(j, k, a.At(j, k)+w*f.a[j][k])
			}
			v.SetVec(j, v.AtVec(j)+w*f.v[j])
		}
	}
	for i := 1; i < 3; i++ {
		a.SetSym(i, i, a.At(i, i)+1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return u, nil, false
	}
	inverse = new(mat.SymDense)
	if chol.InverseTo(inverse) != nil {
		return u, nil, false
	}
	for i := range u {
		for j := range u {
			u[i] += inverse.At(i, j) * v.AtVec(j)
		}
	}
	return u, inverse, true
}

// scatterOf returns the variance of the blur between patches that noise does not explain:
// the one with which half of the patches, by weight, lie within 0.6745 standard
// deviations, the quartile of a normal distribution. It is found by bisection.
func scatterOf(fits []patchFit, off []float64) float64 {
	wide := func(scatter float64) bool {
		var within, all float64
		for i := range fits {
			v := fits[i].variance() + scatter
			all += 1 / v
			if stat.Sq(off[i]) < stat.Sq(0.6745)*v {
				within += 1 / v
			}
		}
		return within < all/2
	}
	low, high := stat.Sq(misfitBlur), 1e4
	if !wide(low) {
		return low
	}
	for range 24 {
		if middle := math.Sqrt(low * high); wide(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}
