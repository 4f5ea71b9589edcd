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

// LeftOver returns what the fitted geometry leaves of the vertical disparity of a
// match, in picture heights; NaN when there is no fit.
func (p *Pair) LeftOver(m geometry.Match) float64 {
	g, _ := p.geometry()
	if g == nil {
		return math.NaN()
	}
	return g.Residual(&m)
}

// PriorSE lets tests look at what the fit supposes before anything was seen.
var PriorSE = geometry.PriorSE
