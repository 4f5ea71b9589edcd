package geometry

import (
	"math"

	"nightpair/metrics/stat"
)

// ResidualDisparity measures the root mean square over the picture of what is left of the
// vertical disparity. Single matches scatter by noise; what matches of one part
// of the picture have in common does not come from noise.
func (g *Fit) ResidualDisparity() stat.Measurement {
	const tiles, minTiles = 8, 12 // per picture height; with matches
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
	// Of each tile's mean, its square less the variance that scatter gives it.
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
	// The standard error of a root, as far as it is not near zero.
	rms := math.Sqrt(square)
	se := math.Sqrt(square+seSquare) - rms
	return stat.Measured(100*rms, 100*math.Hypot(se, g.commonSE))
}
