package focus

import "nightpair/metrics/raster"

// patchReader reads patches of one eye's picture, n bins high and half as wide, resampled by
// the aligner and then blurred by the kernel; either may be nil.
type patchReader struct {
	from                *luminance
	n, margin, room     int
	kernel              []float32
	aligner             *aligner
	around, level, work []float32
}

func newPatchReader(from *luminance, n int, kernel []float32, a *aligner) *patchReader {
	r := &patchReader{from: from, n: n, margin: len(kernel) / 2, kernel: kernel, aligner: a}
	wide, high := n/2+2*r.margin, n+2*r.margin
	r.room = a.room(wide, high)
	size := (wide + 2*r.room) * (high + 2*r.room)
	r.around, r.level, r.work = make([]float32, size), make([]float32, size), make([]float32, size)
	return r
}

// read fills dst with the patch whose top left pixel is (x, y), farther by the fractions
// of a pixel given where there is an aligner. It reports false, with dst as it was, where
// the picture does not hold the patch and what the filters need around it.
func (r *patchReader) read(dst []float32, x, y int, fractionX, fractionY float64) bool {
	edge, bin := r.margin+r.room, float64(r.from.bin)
	if !r.from.holds(r.n, edge, x, y) {
		return false
	}
	wide, high := r.n/2+2*r.margin, r.n+2*r.margin
	if r.aligner == nil && r.kernel == nil {
		r.from.read(dst, wide, high, x, y)
		return true
	}
	r.from.read(r.around, wide+2*r.room, high+2*r.room, x-edge*r.from.bin, y-edge*r.from.bin)
	patch := r.around
	if r.aligner != nil {
		patch = r.level
		r.aligner.read(patch, r.around, r.work, wide, high, r.room, fractionX/bin, fractionY/bin)
	}
	if r.kernel == nil {
		copy(dst, patch[:wide*high])
	} else {
		raster.ConvolveValid(dst, patch, r.work, r.kernel, r.kernel, wide, high)
	}
	return true
}
