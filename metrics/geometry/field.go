package geometry

import (
	"math"

	"nightpair/metrics/stat"
)

// Spot is a place of the left picture with its vertical disparity.
type FieldPoint struct {
	Disparity float64 // in picture heights
	Factors   Terms
}

// Field returns the fitted vertical disparity on a grid over all of the picture
// that the right eye shows too, with the parallax of the nearest match at each place.
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
			points = append(points, FieldPoint{Disparity: ry - y, Factors: g.Terms.Factors(x, y, xr, y)})
		}
	}
	return points
}
