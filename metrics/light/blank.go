package light

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

const (
	blankBlock = 8 // width and height of a block in pixels of the full raster
	// A block is empty when its pixels range over at most blankFlat 8-bit code values, or
	// when its mean is below blankBlack, a share of full scale, and they range over at
	// most blankNoise code values.
	blankFlat  = 1.5
	blankBlack = 0.04
	blankNoise = 16
	// The other eye shows something where its mean signal lies between blankDark and
	// blankBright, or where its pixels range over blankContrast code values or more:
	// that tells a missing picture from a dark or a bright place.
	blankDark, blankBright = 0.12, 0.9
	blankContrast          = 12
	// minBlankShare is the share of empty blocks that makes a whole picture empty.
	minBlankShare = 0.97
	// minBlankRegion is the smallest region that counts, as a share of the picture.
	minBlankRegion = 0.01
)

// Blocks is the mean and the range of a picture in square blocks, row by row. Width and
// Height are counted in blocks and are 0 for a picture smaller than one.
type Blocks struct {
	Width, Height int
	mean          []float32 // signal, black 0 and white 1
	contrast      []float32 // from the darkest to the brightest pixel, 8-bit code values
	bright        float32   // the signal from which on an empty block clips and is not missing
}

// NewBlocks returns the blocks of a frame, r being its full raster.
func NewBlocks(f *picture.Frame, r *raster.Raster) *Blocks {
	s := f.Signal()
	unit := float32(int(1) << (f.Depth - 8))
	b := &Blocks{Width: r.Width / blankBlock, Height: r.Height / blankBlock, bright: min(blankBright, Ceiling(f, r)-2.0/255)}
	for y := range b.Height {
		for x := range b.Width {
			low, high, sum := float32(math.Inf(1)), float32(math.Inf(-1)), float32(0)
			for j := range blankBlock {
				for _, v := range r.Row(y*blankBlock + j)[x*blankBlock:][:blankBlock] {
					low, high = min(low, v), max(high, v)
					sum += v
				}
			}
			sum /= blankBlock * blankBlock
			b.mean = append(b.mean, (sum*unit-s.Black)/(s.White-s.Black))
			b.contrast = append(b.contrast, high-low)
		}
	}
	return b
}

// empty reports whether a block shows nothing.
func (b *Blocks) empty(i int) bool {
	return b.contrast[i] <= blankFlat || b.mean[i] < blankBlack && b.contrast[i] <= blankNoise
}

// MissingShare returns the share of the picture, 0 to 1, that is empty here while the other
// eye, whose picture has the same size, shows something there: 1 where all of it is. The
// plain boxes behind this eye's own lettering do not count.
func (b *Blocks) MissingShare(other *Blocks, letters *Lettering) float64 {
	n := len(b.mean)
	mask := make([]bool, n)
	empty, othersEmpty := 0, 0
	for i := range mask {
		if b.empty(i) {
			empty++
		}
		if other.empty(i) {
			othersEmpty++
			continue
		}
		shown := other.contrast[i] >= blankContrast || other.mean[i] > blankDark && other.mean[i] < blankBright
		mask[i] = b.empty(i) && b.mean[i] < b.bright && shown && !letters.covers(i%b.Width*blankBlock, i/b.Width*blankBlock)
	}
	if float64(empty) > minBlankShare*float64(n) && float64(othersEmpty) < minBlankShare*float64(n) {
		return 1
	}
	total := 0
	for _, region := range regions(mask, b.Width) {
		if float64(len(region)) >= minBlankRegion*float64(n) {
			total += len(region)
		}
	}
	return float64(total) / float64(n)
}
