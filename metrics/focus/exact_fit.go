package focus

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"nightpair/metrics/stat"
)

const (
	// softLeak is the share of the coarsest power that may leak into any other.
	softLeak = 2e-6
	// ownDoubt is the share of what an eye shows of its own besides that may be wrong.
	ownDoubt = 0.5
	// misfit is the share by which the powers of one ring of one patch differ for
	// other reasons, and misfitBlur by how much the blurs of patches do at least.
	misfit     = 0.085
	misfitBlur = 0.002
	// The patches' blurs count less the more they differ from the rest, in robust
	// standard deviations, and not at all from softOut on.
	softOut = 5
)

// patchFit is what one patch adds to the fit of what remains of the blur and of the
// noise of both eyes: the normal equations, each patch having a gain of its own.
type patchFit struct {
	a    [3][3]float64
	v    [3]float64
	own  [3]float64 // what would be added to v if ownDoubt of what is an eye's own were taken out
	all  float64    // the sum of the squares
	told int        // the rings
	tile int

	unlike float64 // by how many times the patch's rings differ more than is usual
}

// exact fits what remains of the blur to all patches at once, where the eyes' spectra
// are nearly the same: what windows, rings and textures do to them is then the same
// as well.
func (c *softFit) exact(blur, level float64) (_, variance float64, ok bool) {
	fits := c.fits(blur, math.Exp(level))
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
			fits[i].unlike = fits[i].unlikeAt(u)
			off[i] = fits[i].off(u)
		}
		scatter = scatterOf(fits, off)
		for i := range fits {
			z := off[i] / math.Sqrt(fits[i].variance()+scatter) / softOut
			weight[i] = stat.Sq(max(1-z*z, 0))
		}
	}
	if u, inverse, ok = solve(fits, weight, scatter); !ok {
		return 0, 0, false
	}
	owned := 0.0
	// Neighbours share their errors, so those are summed over parts of the picture.
	var parts [softTiles * softTiles]struct {
		score [3]float64
		n     int
	}
	for i := range fits {
		f := &fits[i]
		w := weight[i] / (f.unlike + f.a[0][0]*scatter)
		part := &parts[f.tile]
		for j := range u {
			owned += w * inverse.At(0, j) * f.own[j]
			part.score[j] += w * (f.v[j] - f.a[j][0]*u[0] - f.a[j][1]*u[1] - f.a[j][2]*u[2])
		}
		part.n++
	}
	n := 0.0
	for i := range parts {
		if parts[i].n > 0 {
			n++
			variance += stat.Sq(inverse.At(0, 0)*parts[i].score[0] + inverse.At(0, 1)*parts[i].score[1] + inverse.At(0, 2)*parts[i].score[2])
		}
	}
	if n < softParts {
		return 0, 0, false
	}
	variance = max(variance*n/(n-1), inverse.At(0, 0))
	// What a codec adds to an eye's detail makes it look sharper, and what it takes away
	// softer: it counts as error either way.
	return blur + u[0], variance + stat.Sq(owned), true
}

// fits sets up the patches' equations.
func (c *softFit) fits(blur, gain float64) []patchFit {
	last := c.lastRing(blur)
	// Where less noise than it is said to have is there as far as can be seen, it may well be there.
	doubt := max(noiseDoubt, 1/c.noise-1)
	rings := len(c.faded)
	var fits []patchFit
	w, e, own := make([]float64, rings), make([]float64, rings), make([]float64, rings)
	columns := make([][3]float64, rings)
	c.see(blur, func(p *softPatch, _ *spectrum, s seen) {
		for k := range rings {
			s.left[k] *= gain
			s.leftNoise[k] *= gain
		}
		left, right := c.fft.smoothed(s.left, 2), c.fft.smoothed(s.right, 2)
		leak := softLeak * (s.left[1] + s.right[1]) / 2
		told := 0
		var sum, mean, owned float64
		var middle [3]float64
		for k := softFirst; k <= last; k++ {
			w[k] = 0
			l, r := s.leftNoise[k], s.rightNoise[k]
			// What both show, mostly by the eye with less noise.
			const least = 1e-3 // share of the power that a spectrum is wrong by
			a, b := 1/(l+least*left[k]), 1/(r+least*right[k])
			power := (a*(left[k]-l) + b*(right[k]-r)) / (a + b)
			if !(power > max(l, r)/4) {
				continue
			}
			// Half the frequencies of a ring are independent behind the window.
			noise := (l*(l+2*power) + r*(r+2*power)) / stat.Sq(power) / (float64(len(c.fft.places[k])) / 2)
			w[k] = 1 / (stat.Sq(misfit) + noise + stat.Sq(leak/power))
			e[k] = ((s.right[k] - r) - (s.left[k] - l)) / power
			columns[k] = [3]float64{c.faded[k], doubt * r / power, -doubt * l / power}
			own[k] = -ownDoubt * c.own[k] * right[k] / power
			if c.spread.by < 0 {
				own[k] = ownDoubt * c.own[k] * left[k] / power
			}
			owned += w[k] * own[k]
			sum += w[k]
			mean += w[k] * e[k]
			for i, x := range columns[k] {
				middle[i] += w[k] * x
			}
			told++
		}
		if told < 4 {
			return
		}
		f := patchFit{tile: p.tile, told: told, unlike: 1}
		for k := softFirst; k <= last; k++ {
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
				f.own[i] += w[k] * d[i] * (own[k] - owned/sum)
			}
		}
		fits = append(fits, f)
	})
	return fits
}

// off returns by how much more blur the patch shows than u says.
func (f *patchFit) off(u [3]float64) float64 {
	return (f.v[0] - f.a[0][0]*u[0] - f.a[0][1]*u[1] - f.a[0][2]*u[2]) / f.a[0][0]
}

// unlikeAt returns by how many times the patch's rings differ more than usual from what
// u says, where they do: such as a patch that holds the edge of something near.
func (f *patchFit) unlikeAt(u [3]float64) float64 {
	rest := f.all
	for i := range u {
		rest -= 2 * u[i] * f.v[i]
		for j := range u {
			rest += u[i] * f.a[i][j] * u[j]
		}
	}
	return max(rest/float64(f.told-2), 1)
}

// variance returns that of off.
func (f *patchFit) variance() float64 { return f.unlike / f.a[0][0] }

// solve returns what remains of the blur and of the right and left eye's noise, and
// the inverse of the normal matrix. Patches' blurs differ by scatter besides what
// noise does.
func solve(fits []patchFit, weight []float64, scatter float64) (u [3]float64, inverse *mat.SymDense, ok bool) {
	a := mat.NewSymDense(3, nil)
	v := mat.NewVecDense(3, nil)
	for i := range fits {
		f := &fits[i]
		w := weight[i] / (f.unlike + f.a[0][0]*scatter)
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

// scatterOf returns the variance by which the patches' blurs differ besides what
// noise explains: half of them, as they count, are then within 0.6745 standard
// deviations.
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
