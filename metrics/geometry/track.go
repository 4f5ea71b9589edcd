package geometry

import (
	"math"

	"nightpair/metrics/raster"
)

const (
	// trackReach is how far, in quarter pixels, a place may move from one frame to
	// the next: 32 pixels of the full raster, a thirtieth of its width.
	trackReach = 8
	// trackTolerance is how far, in quarter pixels, the motion from the frame before may
	// differ from the motion to the frame after.
	trackTolerance = 2
)

// Velocity is the motion of a place in one eye's picture, in picture heights per frame, to the
// right and down.
type Velocity struct {
	Vx, Vy float64
	SE     float64 // standard error of Vy
}

// Tracker follows places of one eye's picture into the frames before and after. It serves one
// goroutine.
type Tracker struct {
	before, after     searcher
	backward, forward patchFinder
	list              []candidate
}

// NewTracker returns a tracker for three consecutive frames of one eye, of one size.
func NewTracker(before, at, after *raster.Pyramid) *Tracker {
	return &Tracker{
		before:   searcher{from: at.Census, to: before.Census, sign: 1},
		after:    searcher{from: at.Census, to: after.Census, sign: 1},
		backward: patchFinder{left: at, right: before},
		forward:  patchFinder{left: at, right: after},
	}
}

// Follow returns the velocity of the place around a pixel of the middle full raster, or false
// where it is not found in both other frames or does not move steadily. Both searches use
// the same template, so its own noise cancels in the velocity.
func (t *Tracker) Follow(x, y int) (Velocity, bool) {
	c := raster.Corner{X: x, Y: y}
	win := window{minX: -trackReach, maxX: trackReach, minY: -trackReach, maxY: trackReach}
	t.list = t.after.find(t.list, x/raster.Quarter, y/raster.Quarter, roughAlignment{}, win)
	next, ok := t.forward.best(t.list, c)
	if !ok || !next.reliable() {
		return Velocity{}, false
	}
	// In the frame before, it is searched where a steady motion would have it.
	dx, dy := int(math.Round((next.x-float64(x))/raster.Quarter)), int(math.Round((next.y-float64(y))/raster.Quarter))
	win = window{minX: -dx - trackTolerance, maxX: -dx + trackTolerance, minY: -dy - trackTolerance, maxY: -dy + trackTolerance}
	t.list = t.before.find(t.list, x/raster.Quarter, y/raster.Quarter, roughAlignment{}, win)
	last, ok := t.backward.best(t.list, c)
	if !ok || !last.reliable() {
		return Velocity{}, false
	}
	r := t.forward.left.Full
	return Velocity{
		Vx: (next.x - last.x) / 2 * r.Sx,
		Vy: (next.y - last.y) / 2 * r.Sy,
		SE: math.Hypot(next.sy, last.sy) / 2 * r.Sy,
	}, true
}
