package timing

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
)

// MovingMatch is a match with the velocity of its place in picture heights per frame, the
// mean of both eyes: where one eye is late, that is the mean from its time to the other's,
// even if the place accelerates.
type MovingMatch struct {
	geometry.Match
	geometry.Velocity
}

// Follow returns the matches of a moment with their velocities, or the reason why too few
// can be followed. The levels are those of the frames before, at and after the moment, all
// of one size.
func Follow(matches []geometry.Match, left, right [3]*raster.Pyramid) ([]MovingMatch, string) {
	l, r := left[1].Full, right[1].Full
	leftTracker, rightTracker := geometry.NewTracker(left[0], left[1], left[2]), geometry.NewTracker(right[0], right[1], right[2])
	var places []MovingMatch
	for _, m := range matches {
		of, ok := leftTracker.Follow(m.Column, m.Row)
		if !ok {
			continue
		}
		// Neighbouring pixels move together, so the whole pixel next to the match does.
		x, y := int(math.Round(m.RightX/r.Sx+r.Cx)), int(math.Round(m.RightY/r.Sy+r.Cy))
		other, ok := rightTracker.Follow(x, y)
		if !ok || math.Abs(other.Vy-of.Vy) > maxEyeDifference*(l.Sy+math.Abs(of.Vy)) {
			continue
		}
		places = append(places, MovingMatch{Match: m, Velocity: geometry.Velocity{
			Vx: (of.Vx + other.Vx) / 2,
			Vy: (of.Vy + other.Vy) / 2,
			SE: math.Hypot(of.SE, other.SE) / 2,
		}})
	}
	places = supported(places, maxEyeDifference*l.Sy)
	if len(places) < geometry.MinMatches {
		return nil, "too few places can be followed from frame to frame"
	}
	return places, ""
}

// supported leaves out places whose vertical speed too few of their neighbours share to
// within tolerance, in picture heights per frame: most of those were lost in following. A
// wrong speed shows no displacement while the eyes are in sync, and would pull the delay to
// 0.
func supported(places []MovingMatch, tolerance float64) (kept []MovingMatch) {
	matches := make([]geometry.Match, len(places))
	for i := range places {
		matches[i] = places[i].Match
	}
	for i, near := range geometry.Neighbours(matches, supportCells) {
		others, sharing := len(near)-1, -1 // without itself
		for _, j := range near {
			if math.Abs(places[j].Vy-places[i].Vy) <= tolerance {
				sharing++
			}
		}
		if float64(sharing) > minSupport*float64(others) {
			kept = append(kept, places[i])
		}
	}
	return kept
}

// earlier returns where the place was in the left picture so many frames before.
func (p *MovingMatch) earlier(frames float64) (x, y float64) {
	return p.LeftX - frames*p.Vx, p.LeftY - frames*p.Vy
}

const (
	// maxEyeDifference is the largest difference of a place's vertical speed between the
	// eyes, as a share of the speed plus one line per frame.
	maxEyeDifference = 1.0 / 3
	// supportCells is how many cells a picture height has: a place's neighbours are those in
	// its cell and in the adjoining ones. minSupport is the share of them that must share its
	// speed. The project's own choice.
	supportCells = 20
	minSupport   = 0.25
)
