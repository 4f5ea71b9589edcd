package timing

import (
	"math"

	"nightpair/metrics/geometry"
)

// Synchronised returns the matches with the left eye's places moved to where they were when
// the right eye saw them: delay frames before at mid-height, and skew frames more per
// picture height downwards. The error of the speed adds to that of the place.
func Synchronised(places []MovingMatch, delay, skew float64) []geometry.Match {
	matches := make([]geometry.Match, len(places))
	for i := range places {
		p := &places[i]
		late := delay + skew*p.RightY
		m := p.Match
		m.LeftX, m.LeftY = p.earlier(late)
		m.VerticalSE = math.Hypot(m.VerticalSE, late*p.SE)
		matches[i] = m
	}
	return matches
}
