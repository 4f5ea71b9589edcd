package synth

import "math"

// Paint is the texture of a thing, as a function of the place on it in metres.
type Paint struct {
	Pattern Pattern
	// Base and Second are its two colours.
	Base, Second RGB
	// Size is the size of its coarse grain in metres; 0 means 0.5.
	Size float64
	// Contrast is the strength of the grain, 0 to about 1; 0 is plain.
	Contrast float64
	// Persistence is the strength of each finer octave of the grain against the
	// one above; 0 means 0.8.
	Persistence float64
	// Cell is the width and height in metres of a brick, a window or a stripe
	// with its gap; X alone is used for stripes. 0 means 0.25 by 0.125.
	Cell [2]float64
	// Gap is the share of a cell that the joint takes; 0 means 0.12.
	Gap  float64
	Seed uint32
	// Gloss is the strength of the highlight, Sheen that of a broad one, as of satin, which
	// brightens the colour itself.
	Gloss, Sheen float64
	// Mirror is the share of the light that comes from what the surface mirrors, 0 to 1;
	// of a veil too, which is a pane of glass then. What is mirrored mirrors nothing itself.
	Mirror float64
	// Bumps is the standard deviation of the slopes of an uneven surface, in what it mirrors
	// and in its highlights, and BumpSize how wide its coarse bumps are in metres.
	Bumps, BumpSize float64
	// Glow is light of its own, as a factor on the colour.
	Glow float64
	// Phase moves the grain of Waves and of veils, in metres.
	Phase float64
	// Cover is how much of a veil is opaque, 0 to 1.
	Cover float64
}

// Pattern is the kind of a texture.
type Pattern uint8

const (
	Grain   Pattern = iota // rough noise between two colours
	Bricks                 // rows of bricks in Base, joints in Second
	Stripes                // level slats in Base, gaps in Second
	Windows                // a grid of panes in Second, each with its own brightness, in a wall of Base
	Checks                 // a chessboard of Base and Second
	Waves                  // a glossy surface whose slopes are the grain; it mirrors the sky
)

// texture is a Paint with its defaults filled in.
type texture struct {
	Paint
	amplitude float64 // of the coarsest octave of the grain
}

func (p Paint) withDefaults() texture {
	if p.Size == 0 {
		p.Size = 0.5
	}
	if p.Persistence == 0 {
		p.Persistence = 0.8
	}
	if p.Cell == [2]float64{} {
		p.Cell = [2]float64{0.25, 0.125}
	}
	if p.Gap == 0 {
		p.Gap = 0.12
	}
	return texture{p, strength(p.Persistence)}
}

// grain returns the grain at place l of the thing, or of its face where that is
// flat, over a footprint of width w metres and the length of strip.
func (p *texture) grain(l Vec, flat bool, w float64, strip Vec) (all, coarse float64) {
	if p.Contrast == 0 {
		return 0, 0
	}
	return rough(l, flat, p.Size, w, strip, p.amplitude, p.Persistence, p.Seed)
}

// plain returns the colour of a plain Grain.
func (p *texture) plain(grain, coarse float64) RGB {
	return p.grained(blend(p.Base, p.Second, clamp(0.5+0.35*coarse)), grain)
}

func (p *texture) grained(c RGB, grain float64) RGB {
	k := max(0.03, 1+p.Contrast*grain)
	return RGB{c.R * k, c.G * k, c.B * k}
}

// figure returns the colour of all patterns but Grain and Waves at coordinates
// (u, v) on the face, without the grain.
func (p *texture) figure(u, v, w float64) RGB {
	switch p.Pattern {
	case Bricks:
		rows := v / p.Cell[1]
		gapV := p.Gap * p.Cell[0] / p.Cell[1]
		row := math.Floor(rows)
		along := u/p.Cell[0] + 0.5*float64(int64(row)&1)
		wu, wv := w/p.Cell[0], w/p.Cell[1]
		body := pulse(along, wu, 1-p.Gap) * pulse(rows, wv, 1-gapV)
		tint := 1 + 0.3*tints(along, wu, int64(row), p.Seed)
		return blend(p.Second, RGB{p.Base.R * tint, p.Base.G * tint, p.Base.B * tint}, body)
	case Stripes:
		return blend(p.Second, p.Base, pulse(v/p.Cell[0], w/p.Cell[0], 1-p.Gap))
	case Windows:
		wu, wv := w/p.Cell[0], w/p.Cell[1]
		pane := pulse(u/p.Cell[0], wu, 1-p.Gap) * pulse(v/p.Cell[1], wv, 1-p.Gap)
		lit := 0.6 + 0.5*tints(u/p.Cell[0], wu, int64(math.Floor(v/p.Cell[1])), p.Seed)
		return blend(p.Base, RGB{p.Second.R * lit, p.Second.G * lit, p.Second.B * lit}, pane)
	default:
		a := 2*pulse(u/(2*p.Cell[0]), w/(2*p.Cell[0]), 0.5) - 1
		b := 2*pulse(v/(2*p.Cell[1]), w/(2*p.Cell[1]), 0.5) - 1
		return blend(p.Second, p.Base, 0.5+0.5*a*b)
	}
}

// slope returns the tilt of the surface at l by its waves.
func (p *texture) slope(l Vec, w float64, strip Vec) (sx, sz float64) {
	at := Vec{l.X, p.Phase, l.Z + 0.6*p.Phase}
	sx, _ = rough(at, false, p.Size, w, strip, p.amplitude, p.Persistence, p.Seed)
	at.Y += 31.7
	sz, _ = rough(at, false, p.Size, w, strip, p.amplitude, p.Persistence, p.Seed^0x5bd1e995)
	return p.Contrast * sx, p.Contrast * sz
}

// bumped returns the normal n of an uneven surface at l.
func (p *texture) bumped(n, l Vec, w float64, strip Vec) Vec {
	if p.Bumps == 0 {
		return n
	}
	// Fine bumps are weaker, so that what the surface mirrors holds together.
	const persistence = 0.5
	across := Vec{n.Y, -n.X, 0}
	if math.Abs(n.Z) > 0.7 {
		across = Vec{n.Z, 0, -n.X}
	}
	across = across.unit()
	along := Vec{n.Y*across.Z - n.Z*across.Y, n.Z*across.X - n.X*across.Z, n.X*across.Y - n.Y*across.X}
	amplitude := strength(persistence)
	a, _ := rough(l, false, p.BumpSize, w, strip, amplitude, persistence, p.Seed^0x2545f491)
	b, _ := rough(l, false, p.BumpSize, w, strip, amplitude, persistence, p.Seed^0x4f6cdd1d)
	return n.along(across, p.Bumps*a).along(along, p.Bumps*b).unit()
}

// veil returns how opaque a veil is at l.
func (p *texture) veil(l Vec, w float64) float64 {
	n, _ := rough(Vec{l.X + 0.3*p.Phase, l.Y + p.Phase, 0.4 * p.Phase}, false, p.Size, w, Vec{}, p.amplitude, p.Persistence, p.Seed)
	return p.Cover * clamp(0.5+0.5*n)
}

// pulse is the mean, through the aperture of a pixel of width w about x, of a
// wave that is 1 on the first share of each unit and 0 on the rest.
func pulse(x, w, share float64) float64 {
	integral := func(x float64) float64 {
		whole := math.Floor(x)
		return whole*share + min(x-whole, share)
	}
	w = max(w, 1e-9)
	return (2*(integral(x+w/2)-integral(x-w/2)) + integral(x+w) - integral(x-w)) / (4 * w)
}

// aperture turns numbers spread evenly over 0 to 1 into offsets from the middle
// of a pixel, in pixels, spread as the aperture gathers light: a box one pixel
// wide, seen three times half a pixel apart with weights 1, 2 and 1, as lens
// and filter spread it before the sensor. Its response is 0.32 at the finest
// frequency that pixels can hold and 0 at twice that, so that little aliases.
func aperture(q float64) float64 {
	switch {
	case q < 0.125:
		return 4*q - 1
	case q < 0.875:
		return (q-0.125)/0.75 - 0.5
	default:
		return 4*(q-0.875) + 0.5
	}
}

// tints is the mean, through the aperture of a pixel, of one random value from
// −1 to 1 for each unit of x in the given row.
func tints(x, w float64, row int64, seed uint32) float64 {
	return (2*cells(x, w, row, seed) + cells(x-w/2, w, row, seed) + cells(x+w/2, w, row, seed)) / 4
}

// cells is the mean of the same over a box of width w about x.
func cells(x, w float64, row int64, seed uint32) float64 {
	value := func(i float64) float64 {
		return scatter(uint32(int64(i))*0x9e3779b1 ^ uint32(row)*0x85ebca77 ^ seed)
	}
	from, to := math.Floor(x-w/2), math.Floor(x+w/2)
	switch {
	case from == to:
		return value(from)
	case to-from == 1:
		return mix(value(from), value(to), (x+w/2-to)/w)
	default:
		return 0
	}
}

func blend(a, b RGB, k float64) RGB {
	return RGB{mix(a.R, b.R, k), mix(a.G, b.G, k), mix(a.B, b.B, k)}
}

func clamp(x float64) float64 { return min(max(x, 0), 1) }
