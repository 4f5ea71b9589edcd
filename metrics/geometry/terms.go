package geometry

import "math"

// Indices into Terms. After the similarity is taken out, the vertical disparity between the
// left picture's (x, y) and the right one's (x', y'), with the parallax p = x' − x, is
//
//	y' − y = offset + roll·x' + zoom·y + keystone·x'·y + tilt·y·y' + height·p + forward·y·p
//	       + barrel·y·p·(2x' − p) + unlike·y·r²
//
// as the package comment derives. Parallax is not counted from zero but from p₀, the mean
// parallax of the scene: read p − p₀ for p, and p·(2x' − p) − p₀·(2x' − p₀) for p·(2x' − p). Then
// offset, zoom and keystone are those of what lies at p₀. A scene that lies there as a whole
// tells these, though it does not tell what a nearer thing would show. Barrel is the radial distortion that both lenses share,
// unlike what the right lens has of it more than the left.
const (
	TermOffset   = iota
	TermRoll     // clockwise
	TermZoom     // the right picture is larger
	TermKeystone // the right picture is taller at its right side
	TermTilt     // the right picture sits lower at its top and bottom than in its middle
	TermHeight   // what is farther away lies lower in the right picture
	TermForward
	TermBarrel // the radial distortion that both lenses share
	TermUnlike // what the right lens has of it more than the left
	TermCount  // how many terms there are
)

// Terms holds a number for each term: its coefficient in the model, or what the coefficient
// is multiplied by. Lengths are in picture heights.
type Terms [TermCount]float64

// dot returns the sum of the products of both.
func (t Terms) dot(d Terms) (sum float64) {
	for i, v := range t {
		sum += v * d[i]
	}
	return sum
}

// Factors returns what the coefficients are multiplied by at a place that the left eye sees at
// (x, y) and the right eye, aligned, at (xr, yr), parallax being counted from own.
func (t *Terms) Factors(x, y, xr, yr, own float64) Terms {
	return factors(x, y, xr, yr, t.depth(x, y, xr), own)
}

// depth returns the parallax that is due to depth alone, but for a constant: toe-in and tilt
// also move the picture sideways, by more at the sides and in the corners than in the middle.
func (t *Terms) depth(x, y, xr float64) float64 {
	return xr - x - t[TermKeystone]*xr*xr - t[TermTilt]*xr*y
}

// factors returns what the coefficients are multiplied by, given the parallax due to depth.
func factors(x, y, xr, yr, depth, own float64) Terms {
	r := x*x + y*y
	from := depth - own
	return Terms{
		TermOffset: 1, TermRoll: xr, TermZoom: y,
		TermKeystone: xr * y, TermTilt: y * yr,
		TermHeight: from, TermForward: y * from,
		TermBarrel: y * (depth*(2*xr-depth) - own*(2*xr-own)), TermUnlike: y * r,
	}
}

// PriorSE is one standard deviation of each coefficient around zero as it is known before
// anything is seen: infinite for the terms that any picture shows; for the others a generous
// guess, so that terms which a scene cannot tell apart get larger standard errors. The
// project's own choice: with a lens as long as 1.5 picture heights, the keystone of 2.5° of
// toe-in and the tilt keystone of 1.3° of tilt; for camera height and forward offset a
// twentieth of the interaxial distance; for distortion 2 % at one picture height from the
// centre, and a quarter of that between the lenses of a matched pair.
var PriorSE = Terms{
	TermOffset: math.Inf(1), TermRoll: math.Inf(1), TermZoom: math.Inf(1),
	TermKeystone: 0.03, TermTilt: 0.015,
	TermHeight: 0.05, TermForward: 0.05,
	TermBarrel: 0.02, TermUnlike: 0.005,
}
