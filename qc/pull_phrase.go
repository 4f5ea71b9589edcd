package qc

import (
	"math"
)

// pullPhrase is what to add to a finding on a fact about a pull of focus; empty for
// other facts.
func pullPhrase(r Record, fact string) string {
	if fact != "focus_lag" && fact != "right_axis" {
		return ""
	}
	pull, reason := PullFocus(r)
	if reason != "" {
		return ""
	}
	return AxesPhrase(pull)
}

// travelAdvice says what a finding about lens_travel points to.
func travelAdvice(f Finding) string {
	const rests, calibrate = -100, "Calibrate the focus motors of both lenses before the next take."
	switch {
	case f.Value < rests-f.SE:
		return "It seems to go the other way: look whether its motor is set to turn in the opposite direction. " + calibrate
	case f.Value < rests+f.SE:
		return "It seems to rest: look whether its motor is on and linked. " + calibrate
	}
	return "Its motor may be set to another speed or range. " + calibrate
}

// AxesPhrase says which eye's axis converges; empty where that cannot be told.
func AxesPhrase(p FocusPull) string {
	if !p.Right.OK() {
		return ""
	}
	const near = 0.1
	switch share := p.Right.Value; {
	case math.Abs(share-1) < near:
		return "The right eye's axis converges alone, the left eye's rests."
	case math.Abs(share) < near:
		return "The left eye's axis converges alone, the right eye's rests."
	case math.Abs(share-0.5) < near:
		return "Both eyes' axes converge alike."
	default:
		return "The right eye's axis does " + digits(100*share) + " % of the convergence, the left eye's the rest."
	}
}
