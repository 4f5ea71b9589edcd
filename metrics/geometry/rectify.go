package geometry

import (
	"math"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// Rectify returns the right picture r with every place moved to the row where the left picture
// shows it. Columns are not changed, so that parallax stays as it is. Beyond the picture the
// nearest row stands in. Depth is taken to be that of the median parallax of the matches.
func (g *Fit) Rectify(r *raster.Raster) *raster.Raster {
	out := r.Blank()
	// Along a row the displacement changes so slowly that it is interpolated between knots.
	const knot = 16
	displacements := make([]float64, (r.Width-1)/knot+2)
	p := g.typicalParallax()
	for y := range r.Height {
		for i := range displacements {
			displacements[i] = g.displacement(r, float64(knot*i), float64(y), p)
		}
		dst := out.Row(y)
		for x := range dst {
			d := displacements[x/knot:][:2]
			at := float64(y) + d[0] + (d[1]-d[0])*float64(x%knot)/knot
			row, taps := raster.TapsAt(raster.ToFixed(at))
			if row < 2 || row >= r.Height-3 {
				dst[x] = r.Pix[min(max(int(math.Round(at)), 0), r.Height-1)*r.Width+x]
				continue
			}
			i := (row-2)*r.Width + x
			var v float32
			for _, tap := range taps {
				v += tap * r.Pix[i]
				i += r.Width
			}
			dst[x] = v
		}
	}
	return out
}

// DisplacementAt returns by how many pixels of r a place at row y of the left picture lies lower
// in the right one, where it is at column x, if it has no parallax.
func (g *Fit) DisplacementAt(r *raster.Raster, x, y float64) float64 {
	return g.displacement(r, x, y, 0)
}

// displacement returns the same for a parallax p in picture heights of the aligned picture.
func (g *Fit) displacement(r *raster.Raster, x, y, p float64) float64 {
	X, Y := r.Place(x, y)
	// What the picture as shot has at column X, the aligned one has at (X + sin·Y)/cos.
	xr := (X + g.Similarity.Sin*Y) / g.Similarity.Cos
	_, yr := g.apply(xr-p, Y, xr)
	return (yr - Y) / r.Sy
}

// typicalParallax returns the median parallax of the matches in the aligned picture, in
// picture heights.
func (g *Fit) typicalParallax() float64 {
	p := make([]float64, len(g.Matches))
	for i := range g.Matches {
		m := &g.Matches[i]
		x, _ := g.Similarity.Undo(m.RightX, m.RightY)
		p[i] = x - m.LeftX
	}
	return stat.Median(p)
}
