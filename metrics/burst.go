package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
	"nightpair/metrics/timing"
)

// NewBurst follows the places that match in the middle pair into the pairs
// before and after. The three pairs are consecutive frames, evenly spaced, as the
// files' frames are counted; whatever the eyes differ in time is what a burst is
// there to measure.
func NewBurst(before, at, after *Pair) *timing.Burst {
	matches, left, right, reason := consecutive(before, at, after)
	return timing.NewBurst(at.Left.Time, matches, left, right, reason)
}

// consecutive returns what following takes of three pairs, or why they can't be followed.
func consecutive(before, at, after *Pair) (matches []geometry.Match, left, right [3]*raster.Pyramid, reason string) {
	if matches, reason = at.Matches(); reason != "" {
		return nil, left, right, reason
	}
	pairs := [3]*Pair{before, at, after}
	for i, p := range pairs {
		if p.Left.Width() != at.Left.Width() || p.Left.Height() != at.Left.Height() ||
			p.Right.Width() != at.Right.Width() || p.Right.Height() != at.Right.Height() {
			return nil, left, right, "the pictures change size"
		}
		left[i], right[i] = p.left(), p.right()
	}
	return matches, left, right, ""
}
