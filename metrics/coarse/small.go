package coarse

import (
	"math"
	"slices"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

// smallWidth is about how wide small pictures are. HD is reduced by eight, which is the
// size of the blocks in which most codecs code.
const smallWidth = 240

// Small is the luma of a frame, reduced to about 240 pixels across, in 8-bit code values.
type Small struct {
	Width, Height int
	Pix           []uint8 // Width*Height
	// A pixel is sx wide and sy high, in picture heights; the origin at the picture's
	// centre lies at the pixel coordinates (cx, cy).
	sx, sy, cx, cy float64
	transfer       picture.Transfer
	// black and white are the code values that these have in Pix.
	black, white float64
}

// Reduce returns the frame's small picture.
func Reduce(f *picture.Frame) *Small {
	nx := max(1, int(math.Round(float64(f.Width())/smallWidth)))
	ny := min(max(1, int(math.Round(float64(nx)*f.Aspect()))), f.Height())
	r := raster.FromLuma(f, min(nx, f.Width()), ny)
	s := &Small{
		Width: r.Width, Height: r.Height, Pix: make([]uint8, len(r.Pix)),
		sx: r.Sx, sy: r.Sy, cx: r.Cx, cy: r.Cy,
		transfer: f.Colour.Transfer,
	}
	signal, unit := f.Signal(), float64(int(1)<<(f.Depth-8))
	s.black, s.white = float64(signal.Black)/unit, float64(signal.White)/unit
	for i, v := range r.Pix {
		s.Pix[i] = uint8(min(max(v+0.5, 0), 255))
	}
	return s
}

// Oriented returns the small picture with o applied.
func (s *Small) Oriented(o picture.Orientation) *Small {
	if o == picture.Upright {
		return s
	}
	across, down := o == picture.Flop || o == picture.Turn, o == picture.Flip || o == picture.Turn
	out := *s
	out.Pix = make([]uint8, 0, len(s.Pix))
	for y := range s.Height {
		if down {
			y = s.Height - 1 - y
		}
		out.Pix = append(out.Pix, s.Pix[y*s.Width:][:s.Width]...)
		if across {
			slices.Reverse(out.Pix[len(out.Pix)-s.Width:])
		}
	}
	return &out
}

// signal returns the signal, from black 0 to white 1, of a code value in Pix.
func (s *Small) signal(code float32) float64 {
	return (float64(code) - s.black) / (s.white - s.black)
}

// sheet is a small picture as numbers that can be added up.
type sheet struct {
	width, height int
	pix           []float32
}

func (s *Small) sheet() sheet {
	t := sheet{s.Width, s.Height, make([]float32, len(s.Pix))}
	for i, v := range s.Pix {
		t.pix[i] = float32(v)
	}
	return t
}

// halved averages two by two pixels.
func (s sheet) halved() sheet {
	t := sheet{s.width / 2, s.height / 2, nil}
	t.pix = make([]float32, t.width*t.height)
	for y := range t.height {
		up, down := s.pix[2*y*s.width:][:s.width], s.pix[(2*y+1)*s.width:][:s.width]
		for x := range t.width {
			t.pix[y*t.width+x] = (up[2*x] + up[2*x+1] + down[2*x] + down[2*x+1]) / 4
		}
	}
	return t
}
