package focus

import (
	"math"

	"nightpair/metrics/stat"
)

const (
	// minCoherence is the smallest correlation of the eyes' power within a ring, and
	// within all coarser ones, at which the ring is used: noise and what a codec leaves
	// of fine detail differ from eye to eye.
	minCoherence = 0.6
	// The noise that is there lies between these multiples of the estimated one.
	minNoiseScale = 0.01
	maxNoiseScale = 6
)

// measureCoherence finds the ring up to which both eyes show the same detail; by how
// much the estimate of the noise is wrong, because fine texture is easily taken for
// noise and a codec adds its own; and which share of the softer eye's power it alone
// shows besides noise.
func (c *blurFit) measureCoherence() {
	rings := len(c.logFade)
	sums := func() []float64 { return make([]float64, rings) }
	both, left, right, leftNoise, rightNoise, count := sums(), sums(), sums(), sums(), sums(), sums()
	c.noiseScale, c.ownShare = 1, sums()
	c.eachPatch(c.spectra.by, func(_ *patch, raw *spectrum, s powers) {
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
	c.coherent = rings
	shared, known := sums(), func(k int, times float64) float64 {
		return max(1-times*leftNoise[k]/count[k], 0) * max(1-times*rightNoise[k]/count[k], 0)
	}
	for k := firstRing; k < rings; k++ {
		var correlation, n, b, l, r float64
		for j := k - 1; j <= min(k+1, rings-1); j++ {
			times := float64(len(c.fft.places[j]))
			if left[j] > 0 && right[j] > 0 {
				correlation += times * both[j] / math.Sqrt(left[j]*right[j])
			}
			n += times
			b, l, r = b+both[j], l+left[j], r+right[j]
		}
		if correlation < minCoherence*n || count[k] == 0 {
			c.coherent = k
			break
		}
		// Relative to the mean of its ring, the power of white noise has a variance of 1,
		// slightly less here because that mean is taken over few frequencies. Texture has
		// another variance, v. If it makes up the shares p and q of the power in the left
		// and in the right eye, the expected products are vpq between the eyes,
		// vp² + 1 − p² within the left and vq² + 1 − q² within the right.
		total := n * count[k]
		white := 1 - 7/(n+5) // from a simulation of white noise
		l, r = l/total-white, r/total-white
		shared[k] = (b/total - math.Copysign(math.Sqrt(math.Abs(l*r)), l+r)) / white
	}
	// The noise scale is searched, because the share of texture is clamped at zero. The
	// window and slanting surfaces lower the correlation of all rings by one more factor.
	best := math.Inf(1)
	common := 1.0
	for step := 10 * maxNoiseScale; step >= 0; step-- {
		times := float64(step) / 10
		var gg, gm, mm float64
		for k := firstRing; k < c.coherent; k++ {
			w, m := float64(len(c.fft.places[k])), known(k, times)
			gg, gm, mm = gg+w*stat.Sq(shared[k]), gm+w*shared[k]*m, mm+w*m*m
		}
		share := min(gm/max(mm, 1e-9), 1)
		if off := gg - 2*share*gm + share*share*mm; off < best {
			best, c.noiseScale, common = off, max(times, minNoiseScale), share
		}
	}
	if c.spectra.by != 0 {
		for k := firstRing; k < c.coherent; k++ {
			c.ownShare[k] = min(max(1-shared[k]/max(common*known(k, c.noiseScale), 0.1), 0), 1)
		}
	}
}
