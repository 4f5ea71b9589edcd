package geometry

import "math"

// Fit is the fitted geometry of the right picture relative to the left one.
type Fit struct {
	Similarity Similarity // takes a place of the aligned right picture to the picture as shot, in picture heights
	Terms      Terms      // coefficients in the aligned picture; those of offset, roll and zoom are 0
	cov        [TermCount][TermCount]float64
	Matches    []Match // those that agree with the fit
	// Parallax is the scene's own: the weighted median over the matches of the parallax
	// that is due to depth, in picture heights. Offset, roll, zoom and keystone are best
	// known there.
	Parallax float64
	scale    float64 // robust standard deviation of the residuals, in picture heights
	commonSE float64 // error that the matches of a part of the picture have in common, in picture heights
}

// SeenOffset returns by how much the right picture sits lower at its centre, of what lies at
// the scene's own parallax, in picture heights, and the factors of its standard error. Where
// all lies at one parallax it is known as well as the picture shows it, though camera height
// and tilt cannot be told apart.
func (g *Fit) SeenOffset() (float64, Terms) {
	p := g.Parallax
	return g.Offset() + p*g.Terms[TermHeight], Terms{TermOffset: 1, TermHeight: p}
}

// SeenZoom returns the size of the right picture over the left one's, less 1, of what lies at
// the scene's own parallax, and the factors of its standard error.
func (g *Fit) SeenZoom() (float64, Terms) {
	p := g.Parallax
	return g.Zoom() + p*g.Terms[termForward] - p*p*g.Terms[termBarrel], Terms{TermZoom: 1, termForward: p, termBarrel: -p * p}
}

// SeenKeystone returns the coefficient of x·y of what lies at the scene's own parallax, per
// picture height, and the factors of its standard error.
func (g *Fit) SeenKeystone() (float64, Terms) {
	p := g.Parallax
	return g.Terms[TermKeystone] + 2*p*g.Terms[termBarrel], Terms{TermKeystone: 1, termBarrel: 2 * p}
}

// Offset returns by how much the right picture sits lower at its centre, of what lies at zero
// parallax, in picture heights.
func (g *Fit) Offset() float64 { return g.Similarity.Down }

// Roll returns the rotation of the right picture in radians, clockwise.
func (g *Fit) Roll() float64 { return math.Atan2(g.Similarity.Sin, g.Similarity.Cos) }

// Zoom returns the size of the right picture over the left one's, less 1.
func (g *Fit) Zoom() float64 { return math.Hypot(g.Similarity.Cos, g.Similarity.Sin) - 1 }

// apply returns where the right picture as shot shows what the left one shows at (x, y) and the
// aligned right one at column xr.
func (g *Fit) apply(x, y, xr float64) (float64, float64) {
	return g.Similarity.apply(xr, y+g.Terms.dot(g.Terms.Factors(x, y, xr, y)))
}

// Residual returns the vertical disparity of a match that the fit leaves unexplained, in
// picture heights of the aligned picture. Positive: the right eye sees it lower.
func (g *Fit) Residual(m *Match) float64 {
	xr, yr := g.Similarity.Undo(m.RightX, m.RightY)
	return yr - m.LeftY - g.Terms.dot(g.Terms.Factors(m.LeftX, m.LeftY, xr, yr))
}

// SE returns the standard error of a linear function of the coefficients, d being its
// factors. Offset, roll and zoom stand for those of the similarity.
func (g *Fit) SE(d Terms) float64 {
	var v float64
	for i := range d {
		for j := range d {
			v += d[i] * d[j] * g.cov[i][j]
		}
	}
	return math.Sqrt(max(v, 0))
}

// Difference returns by how much larger the coefficients of the other fit are, offset, roll and
// zoom being those of the similarities.
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

// AddError widens the covariance by an error that moves all coefficients together, by as much.
func (g *Fit) AddError(by Terms) {
	for i := range by {
		for j := range by {
			g.cov[i][j] += by[i] * by[j]
		}
	}
}

// CountWithin counts the matches whose residuals are smaller than so many picture heights.
func (g *Fit) CountWithin(near float64) (n int) {
	for i := range g.Matches {
		if math.Abs(g.Residual(&g.Matches[i])) < near {
			n++
		}
	}
	return n
}
