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
	trackBack = 2
)

// Motion is how fast a place moves in a picture, in picture heights per frame.
type Motion struct {
	Vx, Vy float64
	Se     float64 // standard error of vy
}

// tracker follows places of one eye's picture into the frames before and after.
type tracker struct {
	before, after searcher
	back, onward  finder
	list          []candidate
}

func NewTracker(before, at, after *raster.Level) *tracker {
	return &tracker{
		before: searcher{from: at.Census, to: before.Census, sign: 1},
		after:  searcher{from: at.Census, to: after.Census, sign: 1},
		back:   finder{left: at, right: before},
		onward: finder{left: at, right: after},
	}
}

// Follow returns how the place around a pixel moves, or false where it is not
// found again or does not move smoothly. The template is the same both ways, so
// its own noise cancels in the velocity.
func (t *tracker) Follow(x, y int) (Motion, bool) {
	c := raster.Corner{X: x, Y: y}
	win := window{left: -trackReach, right: trackReach, up: -trackReach, down: trackReach}
	t.list = t.after.find(t.list, x/raster.Quarter, y/raster.Quarter, rough{}, win)
	next, ok := t.onward.best(t.list, c)
	if !ok || !next.told() {
		return Motion{}, false
	}
	// It comes from where it would come from at a steady pace.
	dx, dy := int(math.Round((next.x-float64(x))/raster.Quarter)), int(math.Round((next.y-float64(y))/raster.Quarter))
	win = window{left: -dx - trackBack, right: -dx + trackBack, up: -dy - trackBack, down: -dy + trackBack}
	t.list = t.before.find(t.list, x/raster.Quarter, y/raster.Quarter, rough{}, win)
	last, ok := t.back.best(t.list, c)
	if !ok || !last.told() {
		return Motion{}, false
	}
	r := t.onward.left.Full
	return Motion{
		Vx: (next.x - last.x) / 2 * r.Sx,
		Vy: (next.y - last.y) / 2 * r.Sy,
		Se: math.Hypot(next.sy, last.sy) / 2 * r.Sy,
	}, true
}
