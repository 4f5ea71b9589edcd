package geometry

import "math"

// Fit is the fitted relation of the right picture to the left one.
type Fit struct {
	Similarity Similarity // takes a place in line to where the right picture shows it
	Terms      Terms      // what is left in line; offset, roll and zoom are nothing
	cov        [TermCount][TermCount]float64
	Matches    []Match // those that agree with the fit
	scale      float64 // robust standard deviation of what is left, in picture heights
	commonSE   float64 // error that matches of one part of the picture have in common, in picture heights
}

// Offset returns by how much the right picture sits lower, in picture heights.
func (g *Fit) Offset() float64 { return g.Similarity.Down }

// Roll returns the right picture's turn in radians, clockwise.
func (g *Fit) Roll() float64 { return math.Atan2(g.Similarity.Sin, g.Similarity.Cos) }

// Zoom returns the right picture's size over the left one's, less 1.
func (g *Fit) Zoom() float64 { return math.Hypot(g.Similarity.Cos, g.Similarity.Sin) - 1 }

// apply returns where the right picture shows what the left one shows at (x, y)
// and the right one, in line, at column xr.
func (g *Fit) apply(x, y, xr float64) (float64, float64) {
	return g.Similarity.apply(xr, y+g.Terms.dot(g.Terms.Factors(x, y, xr, y)))
}

// Residual returns what of a match's vertical disparity the fit does not explain, in
// line and in picture heights.
func (g *Fit) Residual(m *Match) float64 {
	xr, yr := g.Similarity.Undo(m.RightX, m.RightY)
	return yr - m.LeftY - g.Terms.dot(g.Terms.Factors(m.LeftX, m.LeftY, xr, yr))
}

// Se returns the standard error of a linear function of the coefficients.
func (g *Fit) SE(d Terms) float64 {
	var v float64
	for i := range d {
		for j := range d {
			v += d[i] * d[j] * g.cov[i][j]
		}
	}
	return math.Sqrt(max(v, 0))
}

// Apart returns by how much another fit's terms differ, with those of the
// similarities.
func (g *Fit) Difference(other *Fit) Terms {
	var d Terms
	for i := range d {
		d[i] = other.Terms[i] - g.Terms[i]
	}
	d[TermOffset] += other.Offset() - g.Offset()
	d[TermRoll] += other.Roll() - g.Roll()
	d[TermZoom] += other.Zoom() - g.Zoom()
	return d
}

// Widen adds an error that moves the terms together.
func (g *Fit) AddError(by Terms) {
	for i := range by {
		for j := range by {
			g.cov[i][j] += by[i] * by[j]
		}
	}
}

// Within counts the matches whose vertical disparity the fit gives to within so
// many picture heights.
func (g *Fit) CountWithin(near float64) (n int) {
	for i := range g.Matches {
		if math.Abs(g.Residual(&g.Matches[i])) < near {
			n++
		}
	}
	return n
}
