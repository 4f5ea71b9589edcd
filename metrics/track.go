package metrics

import "math"

const (
	// trackReach is how far, in quarter pixels, a place may move from one frame to
	// the next: 32 pixels of the raster, a thirtieth of its width.
	trackReach = 8
	// trackBack is how far, in quarter pixels, the motion before may differ from
	// the motion after.
	trackBack = 2
)

// motion is how fast a place moves in a picture, in picture heights per frame.
type motion struct {
	vx, vy float64
	se     float64 // standard error of vy
}

// tracker follows places of one eye's picture into the frames before and after.
type tracker struct {
	before, after searcher
	back, onward  finder
	list          []candidate
}

func newTracker(before, at, after *level) *tracker {
	return &tracker{
		before: searcher{from: at.census, to: before.census, sign: 1},
		after:  searcher{from: at.census, to: after.census, sign: 1},
		back:   finder{left: at, right: before},
		onward: finder{left: at, right: after},
	}
}

// follow returns how the place around a pixel moves, or false where it is not
// found again or does not move smoothly. The template is the same both ways, so
// its own noise cancels in the velocity.
func (t *tracker) follow(x, y int) (motion, bool) {
	c := corner{x: x, y: y}
	win := window{left: -trackReach, right: trackReach, up: -trackReach, down: trackReach}
	t.list = t.after.find(t.list, x/quarter, y/quarter, rough{}, win)
	next, ok := t.onward.best(t.list, c)
	if !ok || !next.told() {
		return motion{}, false
	}
	// It comes from where it would come from at a steady pace.
	dx, dy := int(math.Round((next.x-float64(x))/quarter)), int(math.Round((next.y-float64(y))/quarter))
	win = window{left: -dx - trackBack, right: -dx + trackBack, up: -dy - trackBack, down: -dy + trackBack}
	t.list = t.before.find(t.list, x/quarter, y/quarter, rough{}, win)
	last, ok := t.back.best(t.list, c)
	if !ok || !last.told() {
		return motion{}, false
	}
	r := t.onward.left.full
	return motion{
		vx: (next.x - last.x) / 2 * r.sx,
		vy: (next.y - last.y) / 2 * r.sy,
		se: math.Hypot(next.sy, last.sy) / 2 * r.sy,
	}, true
}
