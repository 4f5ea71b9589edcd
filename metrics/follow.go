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

// newBurst follows the matches of a moment at that time through the frames around it,
// see follow; there are none where a reason is given.
func newBurst(at time.Duration, matches []Match, left, right [3]*level, reason string) *Burst {
	b := &Burst{Time: at, missing: reason}
	if reason != "" {
		return b
	}
	if b.places, b.missing = follow(matches, left, right); b.missing == "" {
		b.line = left[1].full.sy
	}
	return b
}

// moving is a match and how fast its place moves, the mean of both eyes: where
// one of them is late, that is the mean speed from the one's time to the other's,
// whether or not the place speeds up.
type moving struct {
	Match
	motion
}

// follow returns the matches of a moment with how they move, or why there are none.
// The levels are those of the frames before, at and after it, all of one size.
func follow(matches []Match, left, right [3]*level) ([]moving, string) {
	l, r := left[1].full, right[1].full
	leftTracker, rightTracker := newTracker(left[0], left[1], left[2]), newTracker(right[0], right[1], right[2])
	var places []moving
	for _, m := range matches {
		of, ok := leftTracker.follow(m.column, m.row)
		if !ok {
			continue
		}
		// Neighbouring pixels move alike, so the whole pixel next to the match does.
		x, y := int(math.Round(m.RightX/r.sx+r.cx)), int(math.Round(m.RightY/r.sy+r.cy))
		other, ok := rightTracker.follow(x, y)
		if !ok || math.Abs(other.vy-of.vy) > trackUnlike*(l.sy+math.Abs(of.vy)) {
			continue
		}
		places = append(places, moving{Match: m, motion: motion{
			vx: (of.vx + other.vx) / 2,
			vy: (of.vy + other.vy) / 2,
			se: math.Hypot(of.se, other.se) / 2,
		}})
	}
	places = accompanied(places, trackUnlike*l.sy)
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
