package metrics

import "math"

// spot is a place of the left picture with its vertical disparity.
type spot struct {
	disparity float64 // in picture heights
	factors   terms
}

// field returns the fitted vertical disparity on a grid over all of the picture
// that the right eye shows too, with the parallax of the nearest match at each place.
func (g *geometry) field(halfWidth float64) (spots []spot) {
	const across, down = 36, 20
	for j := range down {
		for i := range across {
			x := (2*(float64(i)+0.5)/across - 1) * halfWidth
			y := (float64(j)+0.5)/down - 0.5
			nearest := &g.matches[0]
			for k := range g.matches {
				m := &g.matches[k]
				if sq(m.LeftX-x)+sq(m.LeftY-y) < sq(nearest.LeftX-x)+sq(nearest.LeftY-y) {
					nearest = m
				}
			}
			inLine, _ := g.line.undo(nearest.RightX, nearest.RightY)
			xr := x + inLine - nearest.LeftX
			rx, ry := g.apply(x, y, xr)
			if math.Abs(rx) > halfWidth || math.Abs(ry) > 0.5 {
				continue // outside the right eye's picture
			}
			spots = append(spots, spot{disparity: ry - y, factors: g.terms.factors(x, y, xr, y)})
		}
	}
	return spots
}
