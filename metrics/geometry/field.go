package geometry

import (
	"math"

	"nightpair/metrics/stat"
)

// FieldPoint is the fitted vertical disparity at a place of the left picture.
type FieldPoint struct {
	Disparity float64 // in picture heights; positive: lower in the right picture
	Factors   Terms   // what the coefficients are multiplied by there, for Fit.SE
}

// Field returns the fitted vertical disparity on a grid of 36 by 20 places over the left picture,
// at the parallax of the match nearest to each. HalfWidth is half the picture's width in
// picture heights. Places outside the right eye's picture are left out.
func (g *Fit) Field(halfWidth float64) (points []FieldPoint) {
	const across, down = 36, 20
	for j := range down {
		for i := range across {
			x := (2*(float64(i)+0.5)/across - 1) * halfWidth
			y := (float64(j)+0.5)/down - 0.5
			nearest := &g.Matches[0]
			for k := range g.Matches {
				m := &g.Matches[k]
				if stat.Sq(m.LeftX-x)+stat.Sq(m.LeftY-y) < stat.Sq(nearest.LeftX-x)+stat.Sq(nearest.LeftY-y) {
					nearest = m
				}
			}
			aligned, _ := g.Similarity.Undo(nearest.RightX, nearest.RightY)
			xr := x + aligned - nearest.LeftX
			rx, ry := g.apply(x, y, xr)
			if math.Abs(rx) > halfWidth || math.Abs(ry) > 0.5 {
				continue // outside the right eye's picture
			}
			points = append(points, FieldPoint{Disparity: ry - y, Factors: g.factors(x, y, xr, y)})
		}
	}
	return points
}
