package timing

import (
	"math"

	"nightpair/metrics/geometry"
)

// InTime returns the matches with the left eye's places moved to where they were
// when the right eye saw them.
func InTime(places []Moving, delay, skew float64) []geometry.Match {
	matches := make([]geometry.Match, len(places))
	for i := range places {
		p := &places[i]
		late := delay + skew*p.RightY
		m := p.Match
		m.LeftX, m.LeftY = p.seenLate(late)
		m.VerticalSE = math.Hypot(m.VerticalSE, late*p.SE)
		matches[i] = m
	}
	return matches
}
