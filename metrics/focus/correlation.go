package focus

import (
	"math"

	"nightpair/metrics/stat"
)

const (
	// softAlike is how alike the eyes' spectra must be in a ring, and in all below it,
	// to be looked at: what codecs leave of fine detail, and noise, are each eye's own.
	softAlike = 0.6
	// softLoud is how many times the noise that an eye is said to have may be there.
	softLoud = 6
	// minNoise is how many times it is there at least.
	minNoise = 0.01
)

// look finds the ring up to which both eyes show the same detail, how many times the
// noise that each eye is said to have is there, texture being taken for noise easily and
// a codec making its own, and what share of the softer eye's power is its own besides.
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
		return max(1-times*leftNoise[k]/count[k], 0) * max(1-times*rightNoise[k]/count[k], 0)
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
	for step := 10 * softLoud; step >= 0; step-- {
		times := float64(step) / 10
		var gg, gm, mm float64
		for k := softFirst; k < c.until; k++ {
			w, m := float64(len(c.fft.places[k])), known(k, times)
			gg, gm, mm = gg+w*stat.Sq(shared[k]), gm+w*shared[k]*m, mm+w*m*m
		}
		share := min(gm/max(mm, 1e-9), 1)
		if off := gg - 2*share*gm + share*share*mm; off < best {
			best, c.noise, slant = off, max(times, minNoise), share
		}
	}
	if c.spread.by != 0 {
		for k := softFirst; k < c.until; k++ {
			c.own[k] = min(max(1-shared[k]/max(slant*known(k, c.noise), 0.1), 0), 1)
		}
	}
}
