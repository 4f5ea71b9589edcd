package timing

import (
	"time"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
)

// Burst is what three consecutive frames of both eyes show around one moment: places that
// both eyes see, and their speeds. It does not keep the frames.
type Burst struct {
	// Time is the left eye's presentation time at the middle frame.
	Time time.Duration

	places  []MovingMatch
	line    float64 // the height of a line of the raster, in picture heights
	missing string  // why there are no places, else empty
}

// NewBurst follows the matches of a moment at a presentation time through the frames around
// it, see [Follow]. With a reason it returns a burst without places that keeps the reason.
func NewBurst(at time.Duration, matches []geometry.Match, left, right [3]*raster.Pyramid, reason string) *Burst {
	b := &Burst{Time: at, missing: reason}
	if reason != "" {
		return b
	}
	if b.places, b.missing = Follow(matches, left, right); b.missing == "" {
		b.line = left[1].Full.Sy
	}
	return b
}
