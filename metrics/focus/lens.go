package focus

import (
	"math"

	"nightpair/metrics/stat"
)

const (
	// lensCoarse is the lowest frequency looked at, in cycles per patch height: lower
	// ones leak into each other, the patch being narrow, and blur leaves them alone.
	lensCoarse = softFirst
	// lensRings is how many frequencies there must be above the noise.
	lensRings = 3
	// lensMisfit is the share by which the detail of two textures departs, at one
	// frequency or another, from what blur makes of it.
	lensMisfit = 0.1
	// lensPatches is how many patches of each depth are enough.
	lensPatches = 100
)

// LensFocus compares the detail of what is far with that of what is near in the
// picture of each eye. A lens blurs what is seen at parallax P by σ = k·|P − focus|,
// with the same k for all, so that σ² far less σ² near is k²·(far − near)·(far +
// near − 2·focus): linear in the parallax that the lens is focused at. The pictures
// are looked at as they are, in all moments alike, so that texture adds the same.
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
			all, reason = d.third(which, depthApart*float64(d.of.Quarter.Width))
			if i == 0 {
				near = spaced(all, lensPatches)
			} else {
				far = spaced(all, lensPatches)
			}
		}
	}
	if reason != "" {
		return [2]stat.Measurement{stat.Missing(reason), stat.Missing(reason)}
	}
	asIs := d.spread
	if asIs == nil || asIs.by != 0 {
		asIs = d.spreadBy(0, []int{})
	}
	spectra := d.withMore(asIs, append(near, far...)).spectra
	// Power fades as exp(−4π²σ²f²).
	unit := stat.Sq(1920/float64(d.of.Left.Width())) / stat.Sq(2*math.Pi)
	for eye := range lenses {
		lenses[eye] = d.powerOf(spectra, near, eye).fade(d.powerOf(spectra, far, eye), unit)
	}
	return lenses
}

// finest returns the detail in bins of one pixel, whatever suits the blur
// between the eyes.
func (d *Detail) finest() *Detail {
	if d.bin == 1 {
		return d
	}
	return detailIn(d.of, 1)
}

// spaced returns not more than most of the indices, evenly taken.
func spaced(all []int, most int) []int {
	n := min(len(all), most)
	out := make([]int, 0, 2*n)
	for k := range n {
		out = append(out, all[k*len(all)/n])
	}
	return out
}

// meanPower is the detail of many patches in one eye by cycles per patch height,
// without what noise adds to it, and that noise.
type meanPower struct {
	power []float64
	noise float64
}

// powerOf averages patches as an eye, 0 for the left, shows them. Each is counted by
// its own coarse detail, and nothing of the other eye enters.
func (d *Detail) powerOf(spectra []spectrum, patches []int, eye int) meanPower {
	m := meanPower{power: make([]float64, d.fft.n/2)}
	sum := 0.0
	for _, i := range patches {
		power, own := spectra[i].left, d.patches[i].leftNoise
		if eye == 1 {
			power, own = spectra[i].right, d.patches[i].rightNoise
		}
		coarse := 0.0
		for _, v := range power[1:lensCoarse] {
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

// fade returns by how much faster the detail of far fades with the square of the
// frequency in cycles per pixel, in a unit given.
func (m meanPower) fade(far meanPower, unit float64) stat.Measurement {
	height := float64(2 * len(m.power))
	var sw, sx, sy, xx, xy float64
	told := 0
	for k := lensCoarse; k < len(m.power) && float64(k)/height <= softLast; k++ {
		a, b := m.power[k], far.power[k]
		if a <= m.noise || b <= far.noise || min(a, b) <= 0 {
			break // noise takes over
		}
		w := 1 / (stat.Sq(lensMisfit) + stat.Sq(noiseDoubt*m.noise/a) + stat.Sq(noiseDoubt*far.noise/b))
		x, y := stat.Sq(float64(k)/height), math.Log(b/a)
		sw, sx, sy, xx, xy = sw+w, sx+w*x, sy+w*y, xx+w*x*x, xy+w*x*y
		told++
	}
	if told < lensRings {
		return stat.Missing(noDetail)
	}
	about := xx - sx*sx/sw
	return stat.Measured(-unit*(xy-sx*sy/sw)/about, unit/math.Sqrt(about))
}
