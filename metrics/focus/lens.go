package focus

import (
	"math"

	"nightpair/metrics/stat"
)

const (
	// lensFirstRing is the first ring used: coarser ones leak into each other, because
	// the patch is narrow, and blur hardly changes them. They give the contrast.
	lensFirstRing = firstRing
	// minLensRings is how many rings must stand out from the noise.
	minLensRings = 3
	// lensMisfit is the relative standard deviation of the ratio of two textures' power
	// in one ring from what blur makes of it.
	lensMisfit = 0.1
	// maxLensPatches is how many patches of each third are read.
	maxLensPatches = 100
)

// LensFocus returns for the left and for the right eye by how much more the farthest
// third is blurred than the nearest one: the difference of the squares of the sigmas, in
// square pixels of a picture 1920 wide, positive where the lens is focused nearer than the
// middle of what is seen. It is missing as [Detail.Softer] is for a third.
//
// A lens blurs what is seen at parallax P by σ = k·|P − P₀| with one k, so the difference is
// k²·(far − near)·(far + near − 2·P₀): linear in the parallax P₀ of what is in focus. The
// texture of near and far adds a constant, which is the same in all moments of a shot
// because the pictures are not blurred or binned here. The standard error is that of the
// same places seen again and does not cover that constant.
func (d *Detail) LensFocus() (lenses [2]stat.Measurement) {
	d = d.finest()
	reason := ""
	if len(d.patches) < minPatches {
		reason = d.reason
	}
	var near, far []int
	for i, which := range [2]Part{NearThird, FarThird} {
		if reason == "" {
			var all []int
			all, reason = d.third(which, minDepthRange*float64(d.in.Quarter.Width))
			if i == 0 {
				near = spaced(all, maxLensPatches)
			} else {
				far = spaced(all, maxLensPatches)
			}
		}
	}
	if reason != "" {
		return [2]stat.Measurement{stat.Missing(reason), stat.Missing(reason)}
	}
	asIs := d.spectra
	if asIs == nil || asIs.by != 0 {
		asIs = d.blurredBy(0, []int{})
	}
	spectra := d.withMore(asIs, append(near, far...)).patches
	// Power fades as exp(−4π²σ²f²).
	unit := stat.Sq(1920/float64(d.in.Left.Width())) / stat.Sq(2*math.Pi)
	for eye := range lenses {
		lenses[eye] = d.powerOf(spectra, near, eye).fade(d.powerOf(spectra, far, eye), unit)
	}
	return lenses
}

// finest returns the detail in bins of one pixel, even where the blur between the eyes
// was measured in larger ones.
func (d *Detail) finest() *Detail {
	if d.bin == 1 {
		return d
	}
	return findDetail(d.in, 1)
}

// spaced returns at most so many of the indices, evenly spaced, with room to append as
// many again.
func spaced(all []int, count int) []int {
	n := min(len(all), count)
	out := make([]int, 0, 2*n)
	for k := range n {
		out = append(out, all[k*len(all)/n])
	}
	return out
}

// meanPower is the power of many patches in one eye by ring, without noise, and the power
// of the noise, both relative to the coarse detail.
type meanPower struct {
	power []float64
	noise float64
}

// powerOf averages the power of patches as one eye shows them, 0 for the left and 1 for
// the right. Each is scaled by its own coarse detail; nothing of the other eye enters.
func (d *Detail) powerOf(spectra []spectrum, patches []int, eye int) meanPower {
	m := meanPower{power: make([]float64, d.fft.n/2)}
	sum := 0.0
	for _, i := range patches {
		power, own := spectra[i].left, d.patches[i].leftNoise
		if eye == 1 {
			power, own = spectra[i].right, d.patches[i].rightNoise
		}
		coarse := 0.0
		for _, v := range power[1:lensFirstRing] {
			coarse += v
		}
		if coarse <= 0 {
			continue
		}
		for k, v := range power {
			m.power[k] += v / coarse
		}
		m.noise, sum = m.noise+own/coarse, sum+1/coarse
	}
	m.noise /= sum
	for k := range m.power {
		m.power[k] = m.power[k]/sum - m.noise
	}
	return m
}

// fade returns by how much faster the power of far falls with the square of the frequency
// in cycles per pixel, as a multiple of 1/unit.
func (m meanPower) fade(far meanPower, unit float64) stat.Measurement {
	height := float64(2 * len(m.power))
	var sw, sx, sy, xx, xy float64
	used := 0
	for k := lensFirstRing; k < len(m.power) && float64(k)/height <= finestFrequency; k++ {
		a, b := m.power[k], far.power[k]
		if a <= m.noise || b <= far.noise || min(a, b) <= 0 {
			break // the rest drowns in noise
		}
		w := 1 / (stat.Sq(lensMisfit) + stat.Sq(noiseDoubt*m.noise/a) + stat.Sq(noiseDoubt*far.noise/b))
		x, y := stat.Sq(float64(k)/height), math.Log(b/a)
		sw, sx, sy, xx, xy = sw+w, sx+w*x, sy+w*y, xx+w*x*x, xy+w*x*y
		used++
	}
	if used < minLensRings {
		return stat.Missing(noDetail)
	}
	about := xx - sx*sx/sw
	return stat.Measured(-unit*(xy-sx*sy/sw)/about, unit/math.Sqrt(about))
}
