package coarse

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// blurs gathers by how much the patches of the right eye are more blurred than those of the left.
//
// A Gaussian blur solves the heat equation: with the variance of the blur its picture changes by
// half of its Laplacian. So the energy of the picture's second differences falls by the energy of
// their gradient, and the energy of the picture itself by that of its own; the ratio of the two
// energies, which no gain changes, tells the variance. Patches are taken at whole pixels, since
// interpolation blurs. The finest detail of a reduced picture, some of it folded from above what it
// can show, falls faster than this says: variances come out too large, see BlurGain.
type blurs struct {
	logRatio []float64 // of the right patch's ratio to the left one's
	slope    []float64 // by how much the variance of a blur, in squared pixels, lowers it
}

// BlurGain is by what a variance is to be multiplied, and BlurGainSE how far that is from what one
// scene or another takes. Measured on drawn scenes.
const (
	BlurGain   = 0.5
	BlurGainSE = 0.15
)

// minFine is the least mean square of second differences, in squared code values, that tells a
// blur: several times what rounding to whole code values makes of them.
const minFine = 4.0

// patchEnergy is what a patch tells of its sharpness.
type patchEnergy struct {
	fine, rough           float64 // energies of the second differences and of the picture
	fineSlope, roughSlope float64 // and of their gradients
}

func (s sheet) energyAt(x, y int) (e patchEnergy, ok bool) {
	const reach = patchRadius + 2
	if x < reach || y < reach || x >= s.width-reach || y >= s.height-reach {
		return e, false
	}
	w := s.width
	mean := float32(0)
	for j := -patchRadius; j <= patchRadius; j++ {
		for _, v := range s.pix[(y+j)*w+x-patchRadius:][:patchSide] {
			mean += v
		}
	}
	mean /= patchSize
	var fine, rough, fineSlope, roughSlope float32
	for j := -patchRadius; j <= patchRadius; j++ {
		for i := -patchRadius; i <= patchRadius; i++ {
			p := s.pix[(y+j-1)*w+x+i-1:]
			at, right, down := p[w+1], p[w+2], p[2*w+1]
			left, up := p[w], p[1]
			dx, dy := right-at, down-at
			xx, yy := left-2*at+right, up-2*at+down
			// Second differences of the neighbours to the right and below.
			far, low := s.pix[(y+j)*w+x+i+2], s.pix[(y+j+2)*w+x+i]
			xxRight, yyDown := at-2*right+far, at-2*down+low
			yyRight, xxDown := p[2]-2*right+p[2*w+2], p[2*w]-2*down+p[2*w+2]
			fine += xx*xx + yy*yy
			fineSlope += (xxRight-xx)*(xxRight-xx) + (xxDown-xx)*(xxDown-xx) + (yyRight-yy)*(yyRight-yy) + (yyDown-yy)*(yyDown-yy)
			rough += (at - mean) * (at - mean)
			roughSlope += dx*dx + dy*dy
		}
	}
	return patchEnergy{float64(fine), float64(rough), float64(fineSlope), float64(roughSlope)}, true
}

// add takes a place of the left picture and that of the right one which shows the same.
func (b *blurs) add(left sheet, lx, ly int, right sheet, rx, ry int) {
	l, ok := left.energyAt(lx, ly)
	r, also := right.energyAt(rx, ry)
	if !ok || !also || max(l.fine, r.fine) < minFine*patchSize || min(l.fine, r.fine, l.rough, r.rough) <= 0 {
		return
	}
	b.logRatio = append(b.logRatio, math.Log(r.fine/l.fine)-math.Log(r.rough/l.rough))
	b.slope = append(b.slope, (l.fineSlope/l.fine-l.roughSlope/l.rough+r.fineSlope/r.fine-r.roughSlope/r.rough)/2)
}

// variance returns the variance of the blur with its standard error, in units of which a squared
// pixel has so many; both 0 where too few places tell it.
func (b *blurs) variance(unit float64) (value, se float64) {
	if len(b.slope) < minPlaces {
		return 0, 0
	}
	slope := stat.Median(slices.Clone(b.slope)) / unit
	if !(slope > 0) {
		return 0, 0
	}
	ratio := stat.Median(slices.Clone(b.logRatio))
	return -ratio / slope, stat.Scatter(b.logRatio, ratio) * math.Sqrt(math.Pi/2/float64(len(b.logRatio))) / slope
}
