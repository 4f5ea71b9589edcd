package metrics

import "math"

// levelled returns a right picture with every place on the row where the left
// one shows it, its column unchanged, so that parallax stays what it is.
func (g *geometry) levelled(r *raster) *raster {
	out := r.blank()
	// Along a row the drop changes so slowly that it is worked out at knots.
	const knot = 16
	drops := make([]float64, (r.width-1)/knot+2)
	p := g.typicalParallax()
	for y := range r.height {
		for i := range drops {
			drops[i] = g.drop(r, float64(knot*i), float64(y), p)
		}
		dst := out.row(y)
		for x := range dst {
			d := drops[x/knot:][:2]
			at := float64(y) + d[0] + (d[1]-d[0])*float64(x%knot)/knot
			row, taps := split(toFixed(at))
			if row < 2 || row >= r.height-3 {
				dst[x] = r.pix[min(max(int(math.Round(at)), 0), r.height-1)*r.width+x]
				continue
			}
			i := (row-2)*r.width + x
			var v float32
			for _, tap := range taps {
				v += tap * r.pix[i]
				i += r.width
			}
			dst[x] = v
		}
	}
	return out
}

// dropAt returns by how many pixels of r a place of left height y lies lower in
// the right picture, where it is at column x, if it is at zero parallax.
func (g *geometry) dropAt(r *raster, x, y float64) float64 { return g.drop(r, x, y, 0) }

// drop returns the same for an in-line parallax p in picture heights.
func (g *geometry) drop(r *raster, x, y, p float64) float64 {
	X, Y := r.place(x, y)
	// On the right column X the place in line is at column (X + sin·Y)/cos.
	xr := (X + g.line.sin*Y) / g.line.cos
	_, yr := g.apply(xr-p, Y, xr)
	return (yr - Y) / r.sy
}

// typicalParallax returns the median parallax of the matches, in line, in
// picture heights.
func (g *geometry) typicalParallax() float64 {
	p := make([]float64, len(g.matches))
	for i := range g.matches {
		m := &g.matches[i]
		x, _ := g.line.undo(m.RightX, m.RightY)
		p[i] = x - m.LeftX
	}
	return median(p)
}
