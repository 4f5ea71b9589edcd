package screen

import "math"

const (
	// adultEyes is the distance between the eyes of adults in millimetres that
	// parallax is held against (common practice), and childEyes that of children:
	// from memory, and the project's own choice.
	adultEyes = 65.0
	childEyes = 50.0
)

// Depth is what the parallax of something means on a screen. What takes a
// length on the screen is false in Sized where the picture is known by its angle
// alone.
type Depth struct {
	Percent     float64 // of the picture's width; positive is behind the screen
	Pixels      float64 // of one eye's picture
	Arcmin      float64 // as seen from the seat
	Sized       bool
	Millimetres float64 // on the screen
	// Distance is how far away from the seat it seems, in metres, to eyes
	// 65 mm apart; +Inf where these would have to look in parallel or turn
	// outwards.
	Distance float64
}

// Depth reads a parallax in % of the width of a picture of so many pixels.
func (s Screen) Depth(percent float64, width int) Depth {
	d := Depth{Percent: percent, Pixels: percent / 100 * float64(width), Arcmin: percent * s.ArcminPerPercent()}
	if mm, ok := s.MillimetresPerPercent(); ok {
		d.Sized = true
		d.Millimetres = percent * mm
		d.Distance = s.perceived(d.Millimetres, adultEyes)
	}
	return d
}

// perceived returns how far away something with a parallax in mm seems to eyes
// so many mm apart: Z = V·e/(e − p), from similar triangles.
func (s Screen) perceived(parallax, eyes float64) float64 {
	if parallax >= eyes {
		return math.Inf(1)
	}
	return s.Distance() * eyes / (eyes - parallax)
}

// Diverges says for whom a parallax would turn the eyes outwards.
func (d Depth) Diverges() (adults, children bool) {
	return d.Sized && d.Millimetres > adultEyes, d.Sized && d.Millimetres > childEyes
}

// ComfortZone returns the bounds of the zone of comfort as parallax in % of the
// picture's width, for eyes 65 mm apart: T. Shibata, J. Kim, D. M. Hoffman,
// M. S. Banks, "The zone of comfort", Journal of Vision 11(8):11, 2011. Its four
// coefficients are from memory and could not be checked, so this is an outer
// limit only, about twice as wide as the working limit of one degree. It takes a
// viewing distance: ok is false where that is not known.
func (s Screen) ComfortZone() (near, far float64, ok bool) {
	mm, ok := s.MillimetresPerPercent()
	if !ok {
		return 0, 0, false
	}
	crossed, uncrossed := comfortZone(s.Distance(), adultEyes)
	return crossed / mm, uncrossed / mm, true
}

// comfortZone returns the bounds for a viewing distance in metres and eyes so
// many mm apart, as parallax in mm.
func comfortZone(distance, eyes float64) (near, far float64) {
	screen := 1 / distance // dioptres
	nearest, farthest := (screen+0.626)/1.035, (screen-0.442)/1.129
	near = eyes * (1 - distance*nearest)
	far = min(eyes*(1-distance*farthest), eyes)
	return near, far
}
