package metrics

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/picture"
)

// PairOf returns a pair whose matches are given instead of found.
func PairOf(left, right *picture.Frame, matches []geometry.Match) *Pair {
	return &Pair{Left: left, Right: right, matching: &matching{matches: matches}}
}

// Residual returns the residual vertical disparity of a match, in picture heights; NaN
// without a fit.
func (p *Pair) Residual(m geometry.Match) float64 {
	g, _ := p.geometry()
	if g == nil {
		return math.NaN()
	}
	return g.Residual(&m)
}

// OwnParallax returns the parallax, in picture heights, at which offset, zoom and keystone are
// told; NaN without a fit.
func (p *Pair) OwnParallax() float64 {
	g, _ := p.geometry()
	if g == nil {
		return math.NaN()
	}
	return g.Parallax
}

// PriorSE lets tests look at what the fit supposes before anything was seen.
var PriorSE = geometry.PriorSE
