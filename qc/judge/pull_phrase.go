package judge

import (
	"math"

	"nightpair/qc/number"
	"nightpair/qc/pull"
)

// AxesPhrase says which eye's axis converges; empty where that cannot be told.
func AxesPhrase(p pull.Focus) string {
	if !p.Right.OK() {
		return ""
	}
	const near = 0.1
	switch share := p.Right.Value; {
	case math.Abs(share-1) < near:
		return "The right camera converges alone, the left one rests."
	case math.Abs(share) < near:
		return "The left camera converges alone, the right one rests."
	case math.Abs(share-0.5) < near:
		return "Both cameras converge equally."
	default:
		return "The right camera contributes " + number.Digits(100*share) + " % of the convergence, the left one the rest."
	}
}

// notesOnAxes tells which axis converges during the focus pull.
func notesOnAxes(c judgedClip, _ Finding) []string {
	pull, reason := pull.FindFocus(c.record)
	if reason != "" {
		return nil
	}
	if axes := AxesPhrase(pull); axes != "" {
		return []string{axes}
	}
	return nil
}
