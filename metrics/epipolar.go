package metrics

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
	termOffset = iota
	termRoll
	termZoom
	termKeystone
	termTilt
	termHeight
	termForward
	termBarrel
	termUnlike
	termCount
)

// terms holds a coefficient for each term, in units of the picture height.
type terms [termCount]float64

func (t terms) dot(d terms) (sum float64) {
	for i, v := range t {
		sum += v * d[i]
	}
	return sum
}

// factors returns what the coefficients are multiplied by where the left eye sees
// a place at (x, y) and the right one, in line, at (xr, yr).
func (t *terms) factors(x, y, xr, yr float64) terms {
	return factors(x, y, xr, yr, t.depth(x, y, xr))
}

// depth returns the parallax that comes of depth alone. A camera turned inwards
// or tilted shifts its picture sideways too, and by a little more at the sides
// and in the corners than in the middle.
func (t *terms) depth(x, y, xr float64) float64 {
	return xr - x - t[termKeystone]*xr*xr - t[termTilt]*xr*y
}

func factors(x, y, xr, yr, depth float64) terms {
	r := x*x + y*y
	return terms{
		termOffset: 1, termRoll: xr, termZoom: y,
		termKeystone: xr * y, termTilt: y * yr,
		termHeight: depth, termForward: y * depth,
		termBarrel: y * depth * (2*x + depth), termUnlike: y * r,
	}
}

// priorSE is how large each coefficient may well be before anything was seen:
// infinite where any picture shows it; for the others a generous guess, so that
// what a scene cannot tell apart widens the standard errors instead of being
// split at random. The project's own choice: with a lens as long as 1.5 picture
// heights, keystone of 2.5° of toe-in and the tilt keystone of 1.3° of tilt; for
// camera height and forward offset a twentieth of the interaxial distance; for
// distortion 2 % at one picture height from the centre, and a quarter of it
// between the lenses of a matched pair.
var priorSE = terms{
	termOffset: math.Inf(1), termRoll: math.Inf(1), termZoom: math.Inf(1),
	termKeystone: 0.03, termTilt: 0.015,
	termHeight: 0.05, termForward: 0.05,
	termBarrel: 0.02, termUnlike: 0.005,
}

// geometry is the fitted relation of the right picture to the left one.
type geometry struct {
	line     similarity // takes a place in line to where the right picture shows it
	terms    terms      // what is left in line; offset, roll and zoom are nothing
	cov      [termCount][termCount]float64
	matches  []Match // those that agree with the fit
	residual float64 // robust standard deviation of what is left, in picture heights
	shared   float64 // error that matches of one part of the picture have in common, in picture heights
}

// offset returns by how much the right picture sits lower, in picture heights.
func (g *geometry) offset() float64 { return g.line.down }

// roll returns the right picture's turn in radians, clockwise.
func (g *geometry) roll() float64 { return math.Atan2(g.line.sin, g.line.cos) }

// zoom returns the right picture's size over the left one's, less 1.
func (g *geometry) zoom() float64 { return math.Hypot(g.line.cos, g.line.sin) - 1 }

// apply returns where the right picture shows what the left one shows at (x, y)
// and the right one, in line, at column xr.
func (g *geometry) apply(x, y, xr float64) (float64, float64) {
	return g.line.apply(xr, y+g.terms.dot(g.terms.factors(x, y, xr, y)))
}

// left returns what of a match's vertical disparity the fit does not explain, in
// line and in picture heights.
func (g *geometry) left(m *Match) float64 {
	xr, yr := g.line.undo(m.RightX, m.RightY)
	return yr - m.LeftY - g.terms.dot(g.terms.factors(m.LeftX, m.LeftY, xr, yr))
}

// se returns the standard error of a linear function of the coefficients.
func (g *geometry) se(d terms) float64 {
	var v float64
	for i := range d {
		for j := range d {
			v += d[i] * d[j] * g.cov[i][j]
		}
	}
	return math.Sqrt(max(v, 0))
}

// with returns the similarity that also does what the terms offset, roll and
// zoom say: a picture turned by γ and scaled by s shows height y at column x'
// lower by x'·tan γ + y·(s/cos γ − 1).
func (s similarity) with(t terms) similarity {
	angle := math.Atan(t[termRoll])
	scale := (1 + t[termZoom]) * math.Cos(angle)
	cos, sin := scale*math.Cos(angle), scale*math.Sin(angle)
	return similarity{
		cos: s.cos*cos - s.sin*sin, sin: s.sin*cos + s.cos*sin,
		down: s.down + s.cos*t[termOffset],
	}
}

// apart returns by how much another fit's terms differ, with those of the
// similarities.
func (g *geometry) apart(other *geometry) terms {
	var d terms
	for i := range d {
		d[i] = other.terms[i] - g.terms[i]
	}
	d[termOffset] += other.offset() - g.offset()
	d[termRoll] += other.roll() - g.roll()
	d[termZoom] += other.zoom() - g.zoom()
	return d
}

// widen adds an error that moves the terms together.
func (g *geometry) widen(by terms) {
	for i := range by {
		for j := range by {
			g.cov[i][j] += by[i] * by[j]
		}
	}
}
