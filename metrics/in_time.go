package metrics

import "math"

// inTime returns the matches with the left eye's places moved to where they were
// when the right eye saw them.
func inTime(places []moving, delay, skew float64) []Match {
	matches := make([]Match, len(places))
	for i := range places {
		p := &places[i]
		late := delay + skew*p.RightY
		m := p.Match
		m.LeftX, m.LeftY = p.seenLate(late)
		m.SE = math.Hypot(m.SE, late*p.se)
		matches[i] = m
	}
	return matches
}
