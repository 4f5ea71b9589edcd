package focus

import (
	"math"

	"nightpair/metrics/stat"
)

const (
	// Rings below softFirst leak into each other, the patch being narrow; beyond
	// softLast cycles per bin codecs and filters do as they please.
	softFirst = 4
	softLast  = 0.45
	// softFaded is the natural logarithm of how much weaker a blur may make the power
	// that is still looked at.
	softFaded = 6
	// noiseDoubt is the share of the noise that may be wrong.
	noiseDoubt = 0.15
)

// softFit finds the blur of some patches of a detail.
type softFit struct {
	*Detail
	patches []int
	spread  *spread
	faded   []float64 // by k: the logarithm of the power left by a blur of one bin

	// See look.
	until int       // the first ring in which the eyes are not alike
	noise float64   // how many times the noise is there
	own   []float64 // by k: share of the softer eye's power
}

// compare looks at patches, all when none are named, in a spread of theirs.
func (d *Detail) compare(patches []int, s *spread) *softFit {
	if patches == nil {
		patches = d.all()
	}
	c := &softFit{Detail: d, patches: patches, spread: s, faded: make([]float64, d.fft.n/2)}
	for k := range c.faded {
		c.faded[k] = -stat.Sq(2 * math.Pi * float64(k) / float64(d.fft.n))
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
		p := &c.Detail.patches[i]
		for k := range rings {
			s.left[k], s.right[k] = raw.left[k]*leftBy[k], raw.right[k]*rightBy[k]
			s.leftNoise[k], s.rightNoise[k] = c.noise*p.leftNoise*leftNoise[k], c.noise*p.rightNoise*rightNoise[k]
		}
		f(p, raw, s)
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
	most := stat.Sq(float64(c.fft.n) / 16)
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
			w := float64(k) / (spread + stat.Sq(2*noiseDoubt*leftNoise[k]/left[k]) + stat.Sq(2*noiseDoubt*rightNoise[k]/right[k]))
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

// solveBlur returns the blur with its variance, from what it is about.
func (c *softFit) solveBlur(blur float64) (_, variance float64, ok bool) {
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
		done := stat.Sq(next-blur) < v/100
		if blur, variance = next, v; done {
			break
		}
	}
	return blur, variance, true
}
