package focus

import (
	"math"
	"slices"

	"nightpair/metrics/raster"
)

// softDrawn is the blur in bins from which on the sharper eye's picture is blurred
// before it is looked at; a lesser one is done to the spectra.
const softDrawn = 0.6

// spread is the spectra of patches when the left eye's picture is blurred by the
// root of by, or the right eye's by that of −by.
type spread struct {
	by      float64 // bins²
	spectra []spectrum
}

// spreadBy reads patches, all when none are named, and blurs the sharper eye. A patch
// too close to the edge of the picture has no spectrum.
func (d *Detail) spreadBy(by float64, patches []int) *spread {
	if patches == nil {
		patches = d.all()
	}
	return d.withMore(&spread{by: by, spectra: make([]spectrum, len(d.patches))}, patches)
}

// withMore returns a spread in which more patches have been read.
func (d *Detail) withMore(s *spread, patches []int) *spread {
	s = &spread{by: s.by, spectra: slices.Clone(s.spectra)}
	var leftKernel, rightKernel []float32
	if s.by > 0 {
		leftKernel = raster.GaussianKernel(math.Sqrt(s.by))
	} else if s.by < 0 {
		rightKernel = raster.GaussianKernel(math.Sqrt(-s.by))
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

func (d *Detail) all() []int {
	all := make([]int, len(d.patches))
	for i := range all {
		all[i] = i
	}
	return all
}
