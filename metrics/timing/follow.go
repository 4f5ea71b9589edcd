package timing

import (
	"math"
	"time"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
)

// Burst is what three consecutive frames of both eyes show around one moment:
// places that both eyes see, and how they move. It keeps none of the frames.
type Burst struct {
	// Time is the left eye's presentation time at the middle frame.
	Time time.Duration

	places  []Moving
	line    float64 // a line of the raster, in picture heights
	missing string  // why there are none
}

// NewBurst follows the matches of a moment at that time through the frames around it,
// see follow; there are none where a reason is given.
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

// Moving is a match and how fast its place moves, the mean of both eyes: where
// one of them is late, that is the mean speed from the one's time to the other's,
// whether or not the place speeds up.
type Moving struct {
	geometry.Match
	geometry.Velocity
}

// Follow returns the matches of a moment with how they move, or why there are none.
// The levels are those of the frames before, at and after it, all of one size.
func Follow(matches []geometry.Match, left, right [3]*raster.Pyramid) ([]Moving, string) {
	l, r := left[1].Full, right[1].Full
	leftTracker, rightTracker := geometry.NewTracker(left[0], left[1], left[2]), geometry.NewTracker(right[0], right[1], right[2])
	var places []Moving
	for _, m := range matches {
		of, ok := leftTracker.Follow(m.Column, m.Row)
		if !ok {
			continue
		}
		// Neighbouring pixels move alike, so the whole pixel next to the match does.
		x, y := int(math.Round(m.RightX/r.Sx+r.Cx)), int(math.Round(m.RightY/r.Sy+r.Cy))
		other, ok := rightTracker.Follow(x, y)
		if !ok || math.Abs(other.Vy-of.Vy) > trackUnlike*(l.Sy+math.Abs(of.Vy)) {
			continue
		}
		places = append(places, Moving{Match: m, Velocity: geometry.Velocity{
			Vx: (of.Vx + other.Vx) / 2,
			Vy: (of.Vy + other.Vy) / 2,
			SE: math.Hypot(of.SE, other.SE) / 2,
		}})
	}
	places = accompanied(places, trackUnlike*l.Sy)
	if len(places) < geometry.MinMatches {
		return nil, "too few places can be followed from frame to frame"
	}
	return places, ""
}

// accompanied leaves out places with whose vertical speed too few of those around go
// along, to within alike: most of them were lost on the way. A wrong speed shows as
// nothing while the eyes are in time, and so would hold fast that they are.
func accompanied(places []Moving, alike float64) (kept []Moving) {
	matches := make([]geometry.Match, len(places))
	for i := range places {
		matches[i] = places[i].Match
	}
	for i, near := range geometry.Neighbours(matches, companyCells) {
		others, along := len(near)-1, -1 // but for itself
		for _, j := range near {
			if math.Abs(places[j].Vy-places[i].Vy) <= alike {
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
func (p *Moving) seenLate(late float64) (x, y float64) {
	return p.LeftX - late*p.Vx, p.LeftY - late*p.Vy
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
