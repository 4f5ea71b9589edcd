package geometry

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// Fit is the fitted geometry of the right picture relative to the left one.
type Fit struct {
	Similarity Similarity // takes a place of the aligned right picture to the picture as shot, in picture heights
	Terms      Terms      // coefficients in the aligned picture; those of offset, roll and zoom are 0
	cov        [TermCount][TermCount]float64
	Matches    []Match // those that agree with the fit
	// Parallax is the scene's own: the weighted mean over the matches of the parallax
	// that is due to depth, in picture heights. The similarity and the keystone are those of
	// what lies there; the terms of height, forward offset and shared distortion tell what
	// changes with parallax from there.
	Parallax float64
	scale    float64 // robust standard deviation of the residuals, in picture heights
	commonSE float64 // error that the matches of a part of the picture have in common, in picture heights
}

// Offset returns by how much the right picture sits lower at its centre, in picture heights,
// of what lies at the scene's own parallax.
func (g *Fit) Offset() float64 { return g.Similarity.Down }

// offsetAt returns the same for another parallax.
func (g *Fit) offsetAt(parallax float64) float64 {
	return g.Offset() + (parallax-g.Parallax)*g.Terms[TermHeight]
}

// Roll returns the rotation of the right picture in radians, clockwise.
func (g *Fit) Roll() float64 { return math.Atan2(g.Similarity.Sin, g.Similarity.Cos) }

// Zoom returns the size of the right picture over the left one's, less 1, of what lies at the
// scene's own parallax.
func (g *Fit) Zoom() float64 { return math.Hypot(g.Similarity.Cos, g.Similarity.Sin) - 1 }

// zoomAt returns the same for another parallax.
func (g *Fit) zoomAt(parallax float64) float64 {
	from, to := g.Parallax, parallax
	return g.Zoom() + (to-from)*g.Terms[TermForward] - (to*to-from*from)*g.Terms[TermBarrel]
}

// factors returns what the coefficients are multiplied by at a place that the left eye sees at
// (x, y) and the right eye, aligned, at (xr, yr).
func (g *Fit) factors(x, y, xr, yr float64) Terms {
	return g.Terms.Factors(x, y, xr, yr, g.Parallax)
}

// apply returns where the right picture as shot shows what the left one shows at (x, y) and the
// aligned right one at column xr.
func (g *Fit) apply(x, y, xr float64) (float64, float64) {
	return g.Similarity.apply(xr, y+g.Terms.dot(g.factors(x, y, xr, y)))
}

// Remainder returns the vertical disparity, in picture heights, that the terms besides offset,
// roll and zoom give to a place that the left eye sees at (x, y) and the right eye, as shot,
// at column xr.
func (g *Fit) Remainder(x, y, xr float64) float64 {
	aligned, _ := g.Similarity.Undo(xr, y)
	return g.Terms.dot(g.factors(x, y, aligned, y))
}

// Residual returns the vertical disparity of a match that the fit leaves unexplained, in
// picture heights of the aligned picture. Positive: the right eye sees it lower.
func (g *Fit) Residual(m *Match) float64 {
	xr, yr := g.Similarity.Undo(m.RightX, m.RightY)
	return yr - m.LeftY - g.Terms.dot(g.factors(m.LeftX, m.LeftY, xr, yr))
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
// zoom being those of the similarities, at this fit's own parallax.
func (g *Fit) Difference(other *Fit) Terms {
	var d Terms
	for i := range d {
		d[i] = other.Terms[i] - g.Terms[i]
	}
	d[TermOffset] += other.offsetAt(g.Parallax) - g.Offset()
	d[TermRoll] += other.Roll() - g.Roll()
	d[TermZoom] += other.zoomAt(g.Parallax) - g.Zoom()
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

// Depth returns the parallax of the nearest and the farthest matches, its 1st and 99th
// percentile, in picture heights.
func (g *Fit) Depth() (near, far float64) {
	parallax := make([]float64, len(g.Matches))
	for i := range g.Matches {
		parallax[i] = g.Matches[i].RightX - g.Matches[i].LeftX
	}
	slices.Sort(parallax)
	return stat.Quantile(parallax, 0.01), stat.Quantile(parallax, 0.99)
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
