package geometry

import (
	"math"

	"nightpair/metrics/raster"
)

const (
	// trackReach is how far, in quarter pixels, a place may move from one frame to
	// the next: 32 pixels of the raster, a thirtieth of its width.
	trackReach = 8
	// trackBack is how far, in quarter pixels, the motion before may differ from
	// the motion after.
	trackTolerance = 2
)

// Motion is how fast a place moves in a picture, in picture heights per frame.
type Velocity struct {
	Vx, Vy float64
	SE     float64 // standard error of vy
}

// tracker follows places of one eye's picture into the frames before and after.
type Tracker struct {
	before, after     searcher
	backward, forward patchFinder
	list              []candidate
}

func NewTracker(before, at, after *raster.Pyramid) *Tracker {
	return &Tracker{
		before:   searcher{from: at.Census, to: before.Census, sign: 1},
		after:    searcher{from: at.Census, to: after.Census, sign: 1},
		backward: patchFinder{left: at, right: before},
		forward:  patchFinder{left: at, right: after},
	}
}

// Follow returns how the place around a pixel moves, or false where it is not
// found again or does not move smoothly. The template is the same both ways, so
// its own noise cancels in the velocity.
func (t *Tracker) Follow(x, y int) (Velocity, bool) {
	c := raster.Corner{X: x, Y: y}
	win := window{minX: -trackReach, maxX: trackReach, minY: -trackReach, maxY: trackReach}
	t.list = t.after.find(t.list, x/raster.Quarter, y/raster.Quarter, roughAlignment{}, win)
	next, ok := t.forward.best(t.list, c)
	if !ok || !next.reliable() {
		return Velocity{}, false
	}
	// It comes from where it would come from at a steady pace.
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
