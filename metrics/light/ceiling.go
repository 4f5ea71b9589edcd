package light

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

const (
	// minCeilingShare is the least share of the picture within one 8-bit code value of
	// the brightest that makes a ceiling, and ceilingSpike by how many times that must
	// exceed what one code value below has on the mean.
	minCeilingShare = 0.003
	ceilingSpike    = 4
	// ceilingWhite is the signal from which on a ceiling is the format's own.
	ceilingWhite = 0.97
	// minClipLoss is by how much of full scale a cell at its ceiling must fall short of
	// what the other eye predicts.
	minClipLoss = 0.03
	// ceilingMargin is how far below the ceiling a cell counts as clipped.
	ceilingMargin = 2.0 / 255
)

// Ceiling returns the signal, black 0 and white 1, at which a picture clips: where its
// histogram ends in a spike below white. It is +Inf where the picture does not clip, or only
// at white.
func Ceiling(f *picture.Frame, r *raster.Raster) float32 {
	const fine = 4 // bins of the histogram per 8-bit code value
	levels := make([]int, 256*fine)
	for _, v := range r.Pix {
		levels[min(max(int(v*fine+0.5), 0), len(levels)-1)]++
	}
	top := len(levels) - 1
	for rest := len(r.Pix) / 2000; top > 0; top-- { // sharpening overshoots
		if rest -= levels[top]; rest < 0 {
			break
		}
	}
	sum := func(from, to int) (n int) {
		for i := max(from, 0); i < min(to, len(levels)); i++ {
			n += levels[i]
		}
		return n
	}
	at := sum(top-fine, top+fine+1)
	below := sum(top-5*fine, top-fine)
	if float64(at) < minCeilingShare*float64(len(r.Pix)) || float64(at) < ceilingSpike*float64(below)/2 {
		return float32(math.Inf(1))
	}
	s := f.Signal()
	signal := (float32(top)/fine*float32(int(1)<<(f.Depth-8)) - s.Black) / (s.White - s.Black)
	if signal > ceilingWhite {
		return float32(math.Inf(1))
	}
	return signal
}
