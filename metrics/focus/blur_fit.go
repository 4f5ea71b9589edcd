package focus

import (
	"math"

	"nightpair/metrics/stat"
)

const (
	// Rings below firstRing leak into each other, because the patch is narrow. Beyond
	// finestFrequency, in cycles per bin, codecs and filters decide what is left.
	firstRing       = 4
	finestFrequency = 0.45
	// maxLogFade is the natural logarithm of the attenuation by a blur up to which a
	// ring's power is used.
	maxLogFade = 6
	// noiseDoubt is the relative standard error of the noise.
	noiseDoubt = 0.15
)

// blurFit finds the blur of some patches of a Detail.
type blurFit struct {
	*Detail
	patches []int
	spectra *spectra
	logFade []float64 // by ring: ln of the share of the power that a blur of one bin leaves

	// What measureCoherence finds.
	coherent   int       // the first ring in which the eyes no longer show the same
	noiseScale float64   // the noise that is there, as a multiple of what was estimated
	ownShare   []float64 // by ring: the share of the softer eye's power that it alone shows
}

// compare starts a fit of patches, all of them for nil, by their spectra.
func (d *Detail) compare(patches []int, s *spectra) *blurFit {
	if patches == nil {
		patches = d.all()
	}
	c := &blurFit{Detail: d, patches: patches, spectra: s, logFade: make([]float64, d.fft.n/2)}
	for k := range c.logFade {
		c.logFade[k] = -stat.Sq(2 * math.Pi * float64(k) / float64(d.fft.n))
	}
	c.measureCoherence()
	return c
}

// powers is a patch's power by ring, the sharper eye's attenuated as the rest of the
// blur would, and the noise within it.
type powers struct {
	left, right, leftNoise, rightNoise []float64
}

// eachPatch calls f with the powers of every patch for a blur in bins². What its pictures
// have not been blurred by is done to the spectra. The slices are reused between calls.
func (c *blurFit) eachPatch(blur float64, f func(p *patch, raw *spectrum, s powers)) {
	rings := len(c.logFade)
	of := func() []float64 { return make([]float64, rings) }
	s := powers{of(), of(), of(), of()}
	leftBy, rightBy := make([]float64, rings), make([]float64, rings)
	leftNoise, rightNoise := make([]float64, rings), make([]float64, rings)
	rest := blur - c.spectra.by
	for k, x := range c.logFade {
		leftBy[k], rightBy[k] = math.Exp(x*max(rest, 0)), math.Exp(x*max(-rest, 0))
		leftNoise[k], rightNoise[k] = leftBy[k]*math.Exp(x*max(c.spectra.by, 0)), rightBy[k]*math.Exp(x*max(-c.spectra.by, 0))
	}
	for _, i := range c.patches {
		raw := &c.spectra.patches[i]
		if raw.left == nil {
			continue
		}
		p := &c.Detail.patches[i]
		for k := range rings {
			s.left[k], s.right[k] = raw.left[k]*leftBy[k], raw.right[k]*rightBy[k]
			s.leftNoise[k], s.rightNoise[k] = c.noiseScale*p.leftNoise*leftNoise[k], c.noiseScale*p.rightNoise*rightNoise[k]
		}
		f(p, raw, s)
	}
}

// lastRing returns the finest ring that can be used with a blur in bins²; it is below
// firstRing where there is none.
func (c *blurFit) lastRing(blur float64) int {
	finest := finestFrequency
	if c.aligner != nil {
		finest = alignedFrequency
	}
	last := min(c.coherent-1, int(finest*float64(c.fft.n)))
	for last >= firstRing && -c.logFade[last]*math.Abs(blur) > maxLogFade {
		last--
	}
	return last
}

// roughBlur returns the blur in bins² by the ratio of the powers of all patches together,
// starting from a guess. It reports false where too few rings stand out from the noise.
func (c *blurFit) roughBlur(blur float64) (float64, bool) {
	blur, _, ok := c.roughFit(blur)
	return blur, ok
}

// roughFit returns the rough blur, and the logarithm of the right eye's power over the
// left's at frequency 0.
func (c *blurFit) roughFit(blur float64) (_, level float64, ok bool) {
	const rounds = 6
	rings := len(c.logFade)
	maxBlur := stat.Sq(float64(c.fft.n) / 16)
	for range rounds {
		left, right := make([]float64, rings), make([]float64, rings)
		leftNoise, rightNoise := make([]float64, rings), make([]float64, rings)
		c.eachPatch(blur, func(_ *patch, _ *spectrum, s powers) {
			for k := firstRing - 1; k < rings; k++ {
				// Patches weigh the same whatever their contrast.
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
		used := 0
		for k := firstRing - 1; k <= c.lastRing(blur); k++ {
			if left[k] <= leftNoise[k]/2 || right[k] <= rightNoise[k]/2 {
				continue
			}
			const scatter = 0.05 // variance of the logarithm without noise
			w := float64(k) / (scatter + stat.Sq(2*noiseDoubt*leftNoise[k]/left[k]) + stat.Sq(2*noiseDoubt*rightNoise[k]/right[k]))
			x, y := c.logFade[k], math.Log(right[k]/left[k])
			sw, sx, sy, sxx, sxy = sw+w, sx+w*x, sy+w*y, sxx+w*x*x, sxy+w*x*y
			used++
		}
		if used < 3 {
			return 0, 0, false
		}
		more := (sw*sxy - sx*sy) / (sw*sxx - sx*sx)
		level = (sy - more*sx) / sw
		next := min(max(blur+more, -maxBlur), maxBlur)
		if math.Abs(next-blur) < 0.003+0.01*math.Abs(blur) {
			return next, level, true
		}
		blur = next
	}
	return blur, level, true
}

// solveBlur returns the blur in bins² with its variance, starting from a guess. It blurs
// the sharper eye's picture until little is left to fit.
func (c *blurFit) solveBlur(blur float64) (_, variance float64, ok bool) {
	const rounds, tolerance = 3, 0.1
	for range rounds {
		if blur, ok = c.roughBlur(blur); !ok {
			return 0, 0, false
		}
		by := blur
		if math.Abs(by) < minDrawnBlur*minDrawnBlur {
			by = 0
		}
		if math.Abs(by-c.spectra.by) <= tolerance*math.Abs(by) {
			break
		}
		c.spectra = c.blurredBy(by, c.patches)
		c.measureCoherence()
	}
	blur, level, ok := c.roughFit(blur)
	if !ok {
		return 0, 0, false
	}
	const maxSteps = 4
	for range maxSteps {
		next, v, ok := c.fitPatches(blur, level)
		if !ok {
			return 0, 0, false
		}
		done := stat.Sq(next-blur) < v/100
		if blur, variance = next, v; done {
			break
		}
	}
	return blur, variance, true
}
