package focus

import (
	"math"
	"slices"

	"nightpair/metrics/raster"
)

// minDrawnBlur is the sigma in bins from which on the sharper eye's picture is blurred; a
// smaller blur is applied to the spectra.
const minDrawnBlur = 0.6

// spectra holds the spectra of patches with the sharper eye's picture blurred: the left
// one's by a sigma of √by bins where by is positive, the right one's by √−by where it is
// negative.
type spectra struct {
	by      float64    // bins²
	patches []spectrum // by patch; one that has not been read has no powers
}

// blurredBy reads patches, all of them for nil, and blurs the sharper eye by so many
// bins². A patch too close to the edge of the picture gets no spectrum.
func (d *Detail) blurredBy(by float64, patches []int) *spectra {
	if patches == nil {
		patches = d.all()
	}
	return d.withMore(&spectra{by: by, patches: make([]spectrum, len(d.patches))}, patches)
}

// withMore returns a copy in which these patches have been read as well.
func (d *Detail) withMore(s *spectra, patches []int) *spectra {
	s = &spectra{by: s.by, patches: slices.Clone(s.patches)}
	var leftKernel, rightKernel []float32
	if s.by > 0 {
		leftKernel = raster.GaussianKernel(math.Sqrt(s.by))
	} else if s.by < 0 {
		rightKernel = raster.GaussianKernel(math.Sqrt(-s.by))
	}
	left, right := newPatchReader(d.left, d.fft.n, leftKernel, nil), newPatchReader(d.right, d.fft.n, rightKernel, d.aligner)
	for _, i := range patches {
		p := &d.patches[i]
		if s.patches[i].left == nil && left.read(d.fft.left, p.leftX, p.leftY, 0, 0) && right.read(d.fft.right, p.rightX, p.rightY, p.fractionX, p.fractionY) {
			s.patches[i] = d.fft.spectrum()
		}
	}
	return s
}

// all returns the indices of all patches.
func (d *Detail) all() []int {
	all := make([]int, len(d.patches))
	for i := range all {
		all[i] = i
	}
	return all
}
