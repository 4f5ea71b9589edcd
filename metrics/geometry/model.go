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

// Fit is the fitted relation of the right picture to the left one.
type Fit struct {
	Similarity Similarity // takes a place in line to where the right picture shows it
	Terms      Terms      // what is left in line; offset, roll and zoom are nothing
	cov        [TermCount][TermCount]float64
	Matches    []Match // those that agree with the fit
	scale      float64 // robust standard deviation of what is left, in picture heights
	commonSE   float64 // error that matches of one part of the picture have in common, in picture heights
}

// Offset returns by how much the right picture sits lower, in picture heights.
func (g *Fit) Offset() float64 { return g.Similarity.Down }

// Roll returns the right picture's turn in radians, clockwise.
func (g *Fit) Roll() float64 { return math.Atan2(g.Similarity.Sin, g.Similarity.Cos) }

// Zoom returns the right picture's size over the left one's, less 1.
func (g *Fit) Zoom() float64 { return math.Hypot(g.Similarity.Cos, g.Similarity.Sin) - 1 }

// apply returns where the right picture shows what the left one shows at (x, y)
// and the right one, in line, at column xr.
func (g *Fit) apply(x, y, xr float64) (float64, float64) {
	return g.Similarity.apply(xr, y+g.Terms.dot(g.Terms.Factors(x, y, xr, y)))
}

// Residual returns what of a match's vertical disparity the fit does not explain, in
// line and in picture heights.
func (g *Fit) Residual(m *Match) float64 {
	xr, yr := g.Similarity.Undo(m.RightX, m.RightY)
	return yr - m.LeftY - g.Terms.dot(g.Terms.Factors(m.LeftX, m.LeftY, xr, yr))
}

// Se returns the standard error of a linear function of the coefficients.
func (g *Fit) SE(d Terms) float64 {
	var v float64
	for i := range d {
		for j := range d {
			v += d[i] * d[j] * g.cov[i][j]
		}
	}
	return math.Sqrt(max(v, 0))
}

// With returns the similarity that also does what the terms offset, roll and
// zoom say: a picture turned by γ and scaled by s shows height y at column x'
// lower by x'·tan γ + y·(s/cos γ − 1).
func (s Similarity) With(t Terms) Similarity {
	angle := math.Atan(t[TermRoll])
	scale := (1 + t[TermZoom]) * math.Cos(angle)
	cos, sin := scale*math.Cos(angle), scale*math.Sin(angle)
	return Similarity{
		Cos: s.Cos*cos - s.Sin*sin, Sin: s.Sin*cos + s.Cos*sin,
		Down: s.Down + s.Cos*t[TermOffset],
	}
}

// Apart returns by how much another fit's terms differ, with those of the
// similarities.
func (g *Fit) Difference(other *Fit) Terms {
	var d Terms
	for i := range d {
		d[i] = other.Terms[i] - g.Terms[i]
	}
	d[TermOffset] += other.Offset() - g.Offset()
	d[TermRoll] += other.Roll() - g.Roll()
	d[TermZoom] += other.Zoom() - g.Zoom()
	return d
}

// Widen adds an error that moves the terms together.
func (g *Fit) AddError(by Terms) {
	for i := range by {
		for j := range by {
			g.cov[i][j] += by[i] * by[j]
		}
	}
}
