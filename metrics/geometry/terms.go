package geometry

import "math"

// The right picture as a whole may be turned, enlarged and shifted down: that
// is taken out exactly, by a similarity about the picture's centre. What is left
// between the left picture's (x, y) and the right one's (x', y') brought into
// line are the terms of a nearly parallel rig to first order in its errors
// (derived in DEVELOPERS.md; the set of terms is that of F. Zilly, M. Müller,
// P. Eisert, P. Kauff, "Joint estimation of epipolar geometry and rectification
// parameters using point correspondences for stereoscopic TV sequences", 3DPVT
// 2010), with the parallax p = x' − x:
//
//	y' − y = offset + roll·x' + zoom·y + keystone·x'·y + tilt·y·y' + height·p + forward·y·p
//	       + barrel·y·p·(2x + p) + unlike·y·r²
//
// The last two are the radial distortion that both lenses share, which shows
// where there is parallax, and what the right lens has of it more than the left.
// The first three are folded into the similarity until nothing of them is left.
const (
	TermOffset = iota
	TermRoll
	TermZoom
	TermKeystone
	TermTilt
	TermHeight
	termForward
	termBarrel
	termUnlike
	TermCount
)

// Terms holds a coefficient for each term, in units of the picture height.
type Terms [TermCount]float64

func (t Terms) dot(d Terms) (sum float64) {
	for i, v := range t {
		sum += v * d[i]
	}
	return sum
}

// Factors returns what the coefficients are multiplied by where the left eye sees
// a place at (x, y) and the right one, in line, at (xr, yr).
func (t *Terms) Factors(x, y, xr, yr float64) Terms {
	return factors(x, y, xr, yr, t.depth(x, y, xr))
}

// depth returns the parallax that comes of depth alone. A camera turned inwards
// or tilted shifts its picture sideways too, and by a little more at the sides
// and in the corners than in the middle.
func (t *Terms) depth(x, y, xr float64) float64 {
	return xr - x - t[TermKeystone]*xr*xr - t[TermTilt]*xr*y
}

func factors(x, y, xr, yr, depth float64) Terms {
	r := x*x + y*y
	return Terms{
		TermOffset: 1, TermRoll: xr, TermZoom: y,
		TermKeystone: xr * y, TermTilt: y * yr,
		TermHeight: depth, termForward: y * depth,
		termBarrel: y * depth * (2*x + depth), termUnlike: y * r,
	}
}

// PriorSE is how large each coefficient may well be before anything was seen:
// infinite where any picture shows it; for the others a generous guess, so that
// what a scene cannot tell apart widens the standard errors instead of being
// split at random. The project's own choice: with a lens as long as 1.5 picture
// heights, keystone of 2.5° of toe-in and the tilt keystone of 1.3° of tilt; for
// camera height and forward offset a twentieth of the interaxial distance; for
// distortion 2 % at one picture height from the centre, and a quarter of it
// between the lenses of a matched pair.
var PriorSE = Terms{
	TermOffset: math.Inf(1), TermRoll: math.Inf(1), TermZoom: math.Inf(1),
	TermKeystone: 0.03, TermTilt: 0.015,
	TermHeight: 0.05, termForward: 0.05,
	termBarrel: 0.02, termUnlike: 0.005,
}
