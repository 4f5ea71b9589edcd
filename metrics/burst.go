package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
	"nightpair/metrics/timing"
)

// Burst is what three consecutive frames of both eyes show around one moment: places that
// both eyes see, and their speeds. It does not keep the frames.
type Burst = timing.Burst

// NewBurst follows the places that match in the middle pair into the pairs before and after.
// The three pairs are consecutive frames of the files, evenly spaced in time; a delay between
// the eyes stays in, for a burst is there to measure it. Where nothing can be followed, the
// burst keeps the reason.
func NewBurst(before, at, after *Pair) *Burst {
	matches, left, right, reason := consecutive(before, at, after)
	return timing.NewBurst(at.Left.Time, matches, left, right, reason)
}

// consecutive returns the middle pair's matches and the levels of three pairs by eye, or the
// reason why places cannot be followed through them.
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
