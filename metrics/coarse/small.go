package coarse

import (
	"slices"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

// Small is a reduced picture made ready for comparing, in 8-bit code values.
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

// Reduce returns the small picture of a frame.
func Reduce(f *picture.Frame) *Small { return FromReduced(picture.Reduce(f)) }

// FromReduced returns the small picture of a frame that was reduced before, pixel by pixel.
func FromReduced(from *picture.Reduced) *Small {
	f := from.Frame
	r := raster.FromLuma(f, 1, 1)
	s := &Small{
		Width: r.Width, Height: r.Height, Pix: make([]uint8, len(r.Pix)),
		transfer: f.Colour.Transfer,
	}
	if s.transfer == picture.Linear {
		s.transfer = picture.BT1886 // the raster holds linear light by the inverse of its curve
	}
	// What fills no box is picture all the same.
	nx, ny, height := float64(from.BoxWidth), float64(from.BoxHeight), float64(from.FullHeight)
	s.sy = ny / height
	s.sx = s.sy * f.Aspect()
	s.cx, s.cy = (float64(from.FullWidth)-nx)/(2*nx), (height-ny)/(2*ny)
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
	if across {
		out.cx = float64(s.Width-1) - s.cx
	}
	if down {
		out.cy = float64(s.Height-1) - s.cy
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
