package metrics

import "math"

// PairOf returns a pair whose matches are given instead of found.
func PairOf(left, right *Frame, matches []Match) *Pair {
	return &Pair{Left: left, Right: right, matching: &matching{matches: matches}}
}

// LeftOver returns what the fitted geometry leaves of the vertical disparity of a
// match, in picture heights; NaN when there is no fit.
func (p *Pair) LeftOver(m Match) float64 {
	g, _ := p.geometry()
	if g == nil {
		return math.NaN()
	}
	return g.left(&m)
}

// PriorSE lets tests look at what the fit supposes before anything was seen.
var PriorSE = priorSE
