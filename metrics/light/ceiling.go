package light

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

const (
	// ceilingShare is the least share of the picture within a code value of 8 bits
	// of the brightest that makes a ceiling, and ceilingSpike how many times more
	// that must be than a code value below has.
	ceilingShare = 0.003
	ceilingSpike = 4
	// ceilingWhite is the signal from which on a ceiling is that of the format.
	ceilingWhite = 0.97
	// clipMissed is by how much of full scale a place must fall short.
	clipMissed = 0.03
	// clipNear is how close to its ceiling a place is cut off.
	clipNear = 2.0 / 255
)

// Ceiling returns the signal at which a picture is cut off, or +Inf where it is
// not, or only at white.
func Ceiling(f *picture.Frame, r *raster.Raster) float32 {
	const fine = 4 // levels to a code value
	levels := make([]int, 256*fine)
	for _, v := range r.Pix {
		levels[min(max(int(v*fine+0.5), 0), len(levels)-1)]++
	}
	top := len(levels) - 1
	for rest := len(r.Pix) / 2000; top > 0; top-- { // some pixels ring
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
	if float64(at) < ceilingShare*float64(len(r.Pix)) || float64(at) < ceilingSpike*float64(below)/2 {
		return float32(math.Inf(1))
	}
	s := f.Signal()
	signal := (float32(top)/fine*float32(int(1)<<(f.Depth-8)) - s.Black) / (s.White - s.Black)
	if signal > ceilingWhite {
		return float32(math.Inf(1))
	}
	return signal
}
