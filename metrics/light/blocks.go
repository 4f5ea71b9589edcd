package light

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

const (
	blankBlock = 8 // pixels of the full raster
	// A block is empty when its pixels are within blankFlat code values of 8 bits,
	// or all close to black.
	blankFlat  = 1.5
	blankBlack = 0.04 // of full scale
	blankNoise = 16   // code values between the darkest and the brightest of a black with noise
	// blankShown is what the other eye must show to tell a missing picture from a
	// dark or a bright place: a signal between black and white, or contrast.
	blankDark, blankBright = 0.12, 0.9
	blankContrast          = 12 // code values
	// blankAll is the share of empty blocks that makes a whole picture empty.
	blankAll = 0.97
	// blankPatch is the least share of the picture that counts in one piece.
	blankPatch = 0.01
)

// blocks sums up a picture in blocks.
type blocks struct {
	Width, Height int
	mean          []float32 // signal
	contrast      []float32 // code values of 8 bits from the darkest to the brightest pixel
	bright        float32   // signal from which on an empty block is cut off and not missing
}

func NewBlocks(f *picture.Frame, r *raster.Raster) *blocks {
	s := f.Signal()
	unit := float32(int(1) << (f.Depth - 8))
	b := &blocks{Width: r.Width / blankBlock, Height: r.Height / blankBlock, bright: min(blankBright, Ceiling(f, r)-2.0/255)}
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

func (b *blocks) empty(i int) bool {
	return b.contrast[i] <= blankFlat || b.mean[i] < blankBlack && b.contrast[i] <= blankNoise
}

// Lone returns the share of the picture that is empty here though the other eye
// shows something, but for what is written on it.
func (b *blocks) Lone(other *blocks, letters *Lettering) float64 {
	n := len(b.mean)
	mask := make([]bool, n)
	mine, others := 0, 0
	for i := range mask {
		if b.empty(i) {
			mine++
		}
		if other.empty(i) {
			others++
			continue
		}
		shown := other.contrast[i] >= blankContrast || other.mean[i] > blankDark && other.mean[i] < blankBright
		mask[i] = b.empty(i) && b.mean[i] < b.bright && shown && !letters.covers(i%b.Width*blankBlock, i/b.Width*blankBlock)
	}
	if float64(mine) > blankAll*float64(n) && float64(others) < blankAll*float64(n) {
		return 1
	}
	total := 0
	for _, part := range regions(mask, b.Width) {
		if float64(len(part)) >= blankPatch*float64(n) {
			total += len(part)
		}
	}
	return float64(total) / float64(n)
}
