package metrics

import (
	"math"
	"time"
)

// Burst is what three consecutive frames of both eyes show around one moment:
// places that both eyes see, and how they move. It keeps none of the frames.
type Burst struct {
	// Time is the left eye's presentation time at the middle frame.
	Time time.Duration

	places  []moving
	line    float64 // a line of the raster, in picture heights
	missing string  // why there are none
}

// moving is a match and how fast its place moves, the mean of both eyes: where
// one of them is late, that is the mean speed from the one's time to the other's,
// whether or not the place speeds up.
type moving struct {
	Match
	motion
}

// NewBurst follows the places that match in the middle pair into the pairs
// before and after. The three pairs are consecutive frames, evenly spaced, as the
// files' frames are counted; whatever the eyes differ in time is what a burst is
// there to measure.
func NewBurst(before, at, after *Pair) *Burst {
	b := &Burst{Time: at.Left.Time}
	if b.places, b.missing = follow(before, at, after); b.missing == "" {
		b.line = at.left().full.sy
	}
	return b
}

// follow returns the places that match in a pair with how they move, or why there
// are none.
func follow(before, at, after *Pair) ([]moving, string) {
	matches, reason := at.Matches()
	if reason != "" {
		return nil, reason
	}
	for _, p := range []*Pair{before, after} {
		if p.Left.Width() != at.Left.Width() || p.Left.Height() != at.Left.Height() ||
			p.Right.Width() != at.Right.Width() || p.Right.Height() != at.Right.Height() {
			return nil, "the pictures change size"
		}
	}
	left := newTracker(before.left(), at.left(), after.left())
	right := newTracker(before.right(), at.right(), after.right())
	r := at.right().full
	var places []moving
	for _, m := range matches {
		of, ok := left.follow(m.column, m.row)
		if !ok {
			continue
		}
		// Neighbouring pixels move alike, so the whole pixel next to the match does.
		x, y := int(math.Round(m.RightX/r.sx+r.cx)), int(math.Round(m.RightY/r.sy+r.cy))
		other, ok := right.follow(x, y)
		if !ok || math.Abs(other.vy-of.vy) > trackUnlike*(at.left().full.sy+math.Abs(of.vy)) {
			continue
		}
		places = append(places, moving{Match: m, motion: motion{
			vx: (of.vx + other.vx) / 2,
			vy: (of.vy + other.vy) / 2,
			se: math.Hypot(of.se, other.se) / 2,
		}})
	}
	places = accompanied(places, trackUnlike*at.left().full.sy)
	if len(places) < geometryLeast {
		return nil, "too few places can be followed from frame to frame"
	}
	return places, ""
}

// accompanied leaves out places with whose vertical speed too few of those around go
// along, to within alike: most of them were lost on the way. A wrong speed shows as
// nothing while the eyes are in time, and so would hold fast that they are.
func accompanied(places []moving, alike float64) (kept []moving) {
	matches := make([]Match, len(places))
	for i := range places {
		matches[i] = places[i].Match
	}
	for i, near := range neighbours(matches, companyCells) {
		others, along := len(near)-1, -1 // but for itself
		for _, j := range near {
			if math.Abs(places[j].vy-places[i].vy) <= alike {
				along++
			}
		}
		if float64(along) > companyShare*float64(others) {
			kept = append(kept, places[i])
		}
	}
	return kept
}

// seenLate returns where in the left picture a place was so many frames before.
func (p *moving) seenLate(late float64) (x, y float64) {
	return p.LeftX - late*p.vx, p.LeftY - late*p.vy
}

const (
	// trackUnlike is how much the vertical speed may differ between the eyes: a
	// third of it, and of a pixel per frame.
	trackUnlike = 1.0 / 3
	// companyCells is how many cells a picture height has whose places are around each
	// other with those of the adjoining ones, and companyShare the share of them that
	// has to go along with a place. The project's own choice.
	companyCells = 20
	companyShare = 0.25
)
