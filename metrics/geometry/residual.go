package geometry

import (
	"math"

	"nightpair/metrics/stat"
)

// ResidualDisparity measures the root mean square over the picture of the vertical disparity
// that the fit leaves unexplained, in % of the picture height, never negative. Residuals of
// single matches scatter by noise; their mean over a tile of the picture does so much less, and
// what noise adds to its square is subtracted.
func (g *Fit) ResidualDisparity() stat.Measurement {
	const tiles, minTiles = 8, 12 // tiles per picture height; tiles with matches
	type tile struct{ x, y int }
	residuals := map[tile][]float64{}
	var order []tile
	for i := range g.Matches {
		m := &g.Matches[i]
		e := g.Residual(m)
		at := tile{int(math.Floor(m.LeftX * tiles)), int(math.Floor(m.LeftY * tiles))}
		if _, ok := residuals[at]; !ok {
			order = append(order, at)
		}
		residuals[at] = append(residuals[at], e)
	}
	// The square of each tile's mean, less the variance of that mean.
	var sum, sum2, n float64
	for _, at := range order {
		e := residuals[at]
		if len(e) < 3 {
			continue
		}
		var mean, square float64
		for _, v := range e {
			mean += v
			square += v * v
		}
		k := float64(len(e))
		mean /= k
		variance := (square/k - mean*mean) / (k - 1)
		s := mean*mean - variance
		sum, sum2, n = sum+s, sum2+s*s, n+1
	}
	if n < minTiles {
		return stat.Missing("too few parts of the picture have matched places")
	}
	square := max(sum/n, 0)
	seSquare := math.Sqrt(max(sum2/n-stat.Sq(sum/n), 0) / n)
	// The standard error of a square root, which stays finite near zero.
	rms := math.Sqrt(square)
	se := math.Sqrt(square+seSquare) - rms
	return stat.Measured(100*rms, 100*math.Hypot(se, g.commonSE))
}
