package metrics

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

const (
	// Rings below softFirst leak into each other, the patch being narrow; beyond
	// softLast cycles per bin codecs and filters do as they please.
	softFirst = 4
	softLast  = 0.45
	// softAlike is how alike the eyes' spectra must be in a ring, and in all below it,
	// to be looked at: what codecs leave of fine detail, and noise, are each eye's own.
	softAlike = 0.6
	// softFaded is the natural logarithm of how much weaker a blur may make the power
	// that is still looked at.
	softFaded = 6
	// softLeak is the share of the coarsest power that may leak into any other.
	softLeak = 2e-6
	// softDrawn is the blur in bins from which on the sharper eye's picture is blurred
	// before it is looked at; a lesser one is done to the spectra.
	softDrawn = 0.6
	// noiseDoubt is the share of the noise that may be wrong.
	noiseDoubt = 0.15
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

// spread is the spectra of patches when the left eye's picture is blurred by the
// root of by, or the right eye's by that of −by.
type spread struct {
	by      float64 // bins²
	spectra []spectrum
}

// spreadBy reads patches, all when none are named, and blurs the sharper eye. A patch
// too close to the edge of the picture has no spectrum.
func (d *detail) spreadBy(by float64, patches []int) *spread {
	if patches == nil {
		patches = d.all()
	}
	return d.withMore(&spread{by: by, spectra: make([]spectrum, len(d.patches))}, patches)
}

// withMore returns a spread in which more patches have been read.
func (d *detail) withMore(s *spread, patches []int) *spread {
	s = &spread{by: s.by, spectra: slices.Clone(s.spectra)}
	var leftKernel, rightKernel []float32
	if s.by > 0 {
		leftKernel = gaussian(math.Sqrt(s.by))
	} else if s.by < 0 {
		rightKernel = gaussian(math.Sqrt(-s.by))
	}
	left, right := newReader(d.left, d.fft.n, leftKernel, nil), newReader(d.right, d.fft.n, rightKernel, d.aligner)
	for _, i := range patches {
		p := &d.patches[i]
		if s.spectra[i].left == nil && left.read(d.fft.left, p.leftX, p.leftY, 0, 0) && right.read(d.fft.right, p.rightX, p.rightY, p.restX, p.restY) {
			s.spectra[i] = d.fft.spectrum()
		}
	}
	return s
}

func (d *detail) all() []int {
	all := make([]int, len(d.patches))
	for i := range all {
		all[i] = i
	}
	return all
}

// softFit finds the blur of some patches of a detail.
type softFit struct {
	*detail
	patches []int // all when nil
	spread  *spread
	faded   []float64 // by k: the logarithm of the power left by a blur of one bin
	until   int       // see look
	noise   float64
	own     []float64
}

func (d *detail) compare(patches []int, s *spread) *softFit {
	if patches == nil {
		patches = d.all()
	}
	c := &softFit{detail: d, patches: patches, spread: s, faded: make([]float64, d.fft.n/2)}
	for k := range c.faded {
		c.faded[k] = -sq(2 * math.Pi * float64(k) / float64(d.fft.n))
	}
	c.look()
	return c
}

// seen is a patch's power with what is left of a blur done to the spectrum of the
// sharper eye, and the noise in it.
type seen struct {
	left, right, leftNoise, rightNoise []float64
}

// see calls f for every patch, for a blur in bins². What it hands over is used again.
func (c *softFit) see(blur float64, f func(p *softPatch, raw *spectrum, s seen)) {
	rings := len(c.faded)
	of := func() []float64 { return make([]float64, rings) }
	s := seen{of(), of(), of(), of()}
	leftBy, rightBy := make([]float64, rings), make([]float64, rings)
	leftNoise, rightNoise := make([]float64, rings), make([]float64, rings)
	rest := blur - c.spread.by
	for k, x := range c.faded {
		leftBy[k], rightBy[k] = math.Exp(x*max(rest, 0)), math.Exp(x*max(-rest, 0))
		leftNoise[k], rightNoise[k] = leftBy[k]*math.Exp(x*max(c.spread.by, 0)), rightBy[k]*math.Exp(x*max(-c.spread.by, 0))
	}
	for _, i := range c.patches {
		raw := &c.spread.spectra[i]
		if raw.left == nil {
			continue
		}
		p := &c.detail.patches[i]
		for k := range rings {
			s.left[k], s.right[k] = raw.left[k]*leftBy[k], raw.right[k]*rightBy[k]
			s.leftNoise[k], s.rightNoise[k] = c.noise*p.leftNoise*leftNoise[k], c.noise*p.rightNoise*rightNoise[k]
		}
		f(p, raw, s)
	}
}

// look finds the ring up to which both eyes show the same detail, how much of the noise
// that each eye is said to have can be there, texture being taken for noise easily, and
// what share of the softer eye's power is its own besides.
func (c *softFit) look() {
	rings := len(c.faded)
	sums := func() []float64 { return make([]float64, rings) }
	both, left, right, leftNoise, rightNoise, count := sums(), sums(), sums(), sums(), sums(), sums()
	c.noise, c.own = 1, sums()
	c.see(c.spread.by, func(_ *softPatch, raw *spectrum, s seen) {
		for k := 1; k < rings; k++ {
			power, noise := s.left[k]*s.right[k], s.leftNoise[k]*s.rightNoise[k]
			if power <= 0 {
				continue
			}
			w := 1 / (1 + math.Sqrt(noise/power))
			count[k] += w
			both[k] += w * raw.both[k]
			left[k] += w * raw.leftOnly[k]
			right[k] += w * raw.rightOnly[k]
			leftNoise[k] += w * min(s.leftNoise[k]/s.left[k], 1)
			rightNoise[k] += w * min(s.rightNoise[k]/s.right[k], 1)
		}
	})
	c.until = rings
	shared, known := sums(), func(k int, times float64) float64 {
		return (1 - times*leftNoise[k]/count[k]) * (1 - times*rightNoise[k]/count[k])
	}
	for k := softFirst; k < rings; k++ {
		var alike, n, b, l, r float64
		for j := k - 1; j <= min(k+1, rings-1); j++ {
			times := float64(len(c.fft.places[j]))
			if left[j] > 0 && right[j] > 0 {
				alike += times * both[j] / math.Sqrt(left[j]*right[j])
			}
			n += times
			b, l, r = b+both[j], l+left[j], r+right[j]
		}
		if alike < softAlike*n || count[k] == 0 {
			c.until = k
			break
		}
		// The power of noise alone would depart by its own size, a little less as it is
		// compared with the few frequencies about it. Texture departs more: if by v, and if
		// it is the shares p and q of the power, the sums are vpq, vp² + 1 − p² and
		// vq² + 1 − q².
		total := n * count[k]
		alone := 1 - 7/(n+5) // from a simulation of white noise
		l, r = l/total-alone, r/total-alone
		shared[k] = (b/total - math.Copysign(math.Sqrt(math.Abs(l*r)), l+r)) / alone
	}
	// Windows and slants make all of it unlike by some share besides.
	best := math.Inf(1)
	slant := 1.0
	for times := 1.0; times > -0.01; times -= 0.1 {
		var gg, gm, mm float64
		for k := softFirst; k < c.until; k++ {
			w, m := float64(len(c.fft.places[k])), known(k, times)
			gg, gm, mm = gg+w*sq(shared[k]), gm+w*shared[k]*m, mm+w*m*m
		}
		share := min(gm/max(mm, 1e-9), 1)
		if off := gg - 2*share*gm + share*share*mm; off < best {
			best, c.noise, slant = off, times, share
		}
	}
	if c.spread.by != 0 {
		for k := softFirst; k < c.until; k++ {
			c.own[k] = min(max(1-shared[k]/max(slant*known(k, c.noise), 0.1), 0), 1)
		}
	}
}

// lastRing returns the last ring that a blur leaves something of.
func (c *softFit) lastRing(blur float64) int {
	finest := softLast
	if c.aligner != nil {
		finest = alignedLast
	}
	last := min(c.until-1, int(finest*float64(c.fft.n)))
	for last >= softFirst && -c.faded[last]*math.Abs(blur) > softFaded {
		last--
	}
	return last
}

// rough returns the blur by the ratio of the powers of all patches together, from
// what it is about, in bins².
func (c *softFit) rough(blur float64) (float64, bool) {
	blur, _, ok := c.level(blur)
	return blur, ok
}

// level returns the rough blur with the logarithm of the power of the right eye over
// that of the left where the frequency is 0.
func (c *softFit) level(blur float64) (_, level float64, ok bool) {
	const rounds = 6
	rings := len(c.faded)
	most := sq(float64(c.fft.n) / 16)
	for range rounds {
		left, right := make([]float64, rings), make([]float64, rings)
		leftNoise, rightNoise := make([]float64, rings), make([]float64, rings)
		c.see(blur, func(_ *softPatch, _ *spectrum, s seen) {
			for k := softFirst - 1; k < rings; k++ {
				// Each patch counts as one of the same contrast would.
				power, noise := math.Sqrt(s.left[k]*s.right[k]), math.Sqrt(s.leftNoise[k]*s.rightNoise[k])
				if power <= noise {
					continue
				}
				w := (power - noise) / (power * power)
				left[k] += w * (s.left[k] - s.leftNoise[k])
				right[k] += w * (s.right[k] - s.rightNoise[k])
				leftNoise[k] += w * s.leftNoise[k]
				rightNoise[k] += w * s.rightNoise[k]
			}
		})
		var sw, sx, sy, sxx, sxy float64
		told := 0
		for k := softFirst - 1; k <= c.lastRing(blur); k++ {
			if left[k] <= leftNoise[k]/2 || right[k] <= rightNoise[k]/2 {
				continue
			}
			const spread = 0.05
			w := float64(k) / (spread + sq(2*noiseDoubt*leftNoise[k]/left[k]) + sq(2*noiseDoubt*rightNoise[k]/right[k]))
			x, y := c.faded[k], math.Log(right[k]/left[k])
			sw, sx, sy, sxx, sxy = sw+w, sx+w*x, sy+w*y, sxx+w*x*x, sxy+w*x*y
			told++
		}
		if told < 3 {
			return 0, 0, false
		}
		more := (sw*sxy - sx*sy) / (sw*sxx - sx*sx)
		level = (sy - more*sx) / sw
		next := min(max(blur+more, -most), most)
		if math.Abs(next-blur) < 0.003+0.01*math.Abs(blur) {
			return next, level, true
		}
		blur = next
	}
	return blur, level, true
}

// settle returns the blur with its variance, from what it is about.
func (c *softFit) settle(blur float64) (_, variance float64, ok bool) {
	const rounds, near = 3, 0.1
	for range rounds {
		if blur, ok = c.rough(blur); !ok {
			return 0, 0, false
		}
		by := blur
		if math.Abs(by) < softDrawn*softDrawn {
			by = 0
		}
		if math.Abs(by-c.spread.by) <= near*math.Abs(by) {
			break
		}
		c.spread = c.spreadBy(by, c.patches)
		c.look()
	}
	blur, level, ok := c.level(blur)
	if !ok {
		return 0, 0, false
	}
	const most = 4
	for range most {
		next, v, ok := c.exact(blur, level)
		if !ok {
			return 0, 0, false
		}
		done := sq(next-blur) < v/100
		if blur, variance = next, v; done {
			break
		}
	}
	return blur, variance, true
}

// patchFit is what one patch adds to the fit of what remains of the blur and of the
// noise of both eyes: the normal equations, each patch having a gain of its own.
type patchFit struct {
	a    [3][3]float64
	v    [3]float64
	own  [3]float64 // what would be added to v if ownDoubt of what is an eye's own were taken out
	tile int
}

// exact fits what remains of the blur to all patches at once, where the eyes' spectra
// are nearly the same: what windows, rings and textures do to them is then the same
// as well.
func (c *softFit) exact(blur, level float64) (_, variance float64, ok bool) {
	fits := c.fits(blur, math.Exp(level))
	if len(fits) < softLeast {
		return 0, 0, false
	}
	weight := make([]float64, len(fits))
	for i := range weight {
		weight[i] = 1
	}
	scatter := sq(misfitBlur)
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
			off[i] = fits[i].off(u)
		}
		scatter = scatterOf(fits, off)
		for i := range fits {
			z := off[i] / math.Sqrt(1/fits[i].a[0][0]+scatter) / softOut
			weight[i] = sq(max(1-z*z, 0))
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
		w := weight[i] / (1 + f.a[0][0]*scatter)
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
			variance += sq(inverse.At(0, 0)*parts[i].score[0] + inverse.At(0, 1)*parts[i].score[1] + inverse.At(0, 2)*parts[i].score[2])
		}
	}
	if n < softParts {
		return 0, 0, false
	}
	variance = max(variance*n/(n-1), inverse.At(0, 0))
	// What a codec adds to an eye's detail makes it look sharper, and what it takes away
	// softer: it counts as error either way.
	return blur + u[0], variance + sq(owned), true
}

// fits sets up the patches' equations.
func (c *softFit) fits(blur, gain float64) []patchFit {
	last := c.lastRing(blur)
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
			noise := (l*(l+2*power) + r*(r+2*power)) / sq(power) / (float64(len(c.fft.places[k])) / 2)
			w[k] = 1 / (sq(misfit) + noise + sq(leak/power))
			e[k] = ((s.right[k] - r) - (s.left[k] - l)) / power
			columns[k] = [3]float64{c.faded[k], noiseDoubt * r / power, -noiseDoubt * l / power}
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
		f := patchFit{tile: p.tile}
		for k := softFirst; k <= last; k++ {
			if w[k] == 0 {
				continue
			}
			d := columns[k]
			for i := range d {
				d[i] -= middle[i] / sum
			}
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

// solve returns what remains of the blur and of the right and left eye's noise, and
// the inverse of the normal matrix. Patches' blurs differ by scatter besides what
// noise does.
func solve(fits []patchFit, weight []float64, scatter float64) (u [3]float64, inverse *mat.SymDense, ok bool) {
	a := mat.NewSymDense(3, nil)
	v := mat.NewVecDense(3, nil)
	for i := range fits {
		f := &fits[i]
		w := weight[i] / (1 + f.a[0][0]*scatter)
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
			v := 1/fits[i].a[0][0] + scatter
			all += 1 / v
			if sq(off[i]) < sq(0.6745)*v {
				within += 1 / v
			}
		}
		return within < all/2
	}
	low, high := sq(misfitBlur), 1e4
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
