package raster

import (
	"slices"

	"nightpair/metrics/picture"
)

// Raster is a picture of one channel in float32 code values, scaled so that
// full scale is about 255 whatever the file's depth, on nearly square pixels.
type Raster struct {
	Width, Height int
	Pix           []float32 // Width·Height values, row by row from the top

	// Where the pixels lie in the picture, in picture heights from its centre: column i at
	// (i−Cx)·Sx, row j at (j−Cy)·Sy.
	Cx, Cy, Sx, Sy float64
	// FramePixel is the height of a pixel of the frame, in picture heights.
	FramePixel float64

	// What the reduction does to noise that is independent in each pixel of the frame:
	// NoiseGain is its variance in a pixel of the raster over that in a pixel of the frame,
	// NoiseCorrelation the correlation of neighbouring pixels of the raster along an axis.
	NoiseGain, NoiseCorrelation float64
}

// NewRaster returns a black raster that does not know where it lies in a picture.
func NewRaster(width, height int) *Raster {
	return &Raster{Width: width, Height: height, Pix: make([]float32, width*height)}
}

// Blank returns a black raster of the size of r that lies where r does.
func (r *Raster) Blank() *Raster {
	out := *r
	out.Pix = make([]float32, len(r.Pix))
	return &out
}

// Row returns row y, counted from the top, sharing memory with Pix.
func (r *Raster) Row(y int) []float32 { return r.Pix[y*r.Width:][:r.Width:r.Width] }

// Place turns pixel coordinates into picture coordinates, in picture heights.
func (r *Raster) Place(x, y float64) (X, Y float64) {
	return (x - r.Cx) * r.Sx, (y - r.Cy) * r.Sy
}

// Pixel turns picture coordinates, in picture heights, into pixel coordinates.
func (r *Raster) Pixel(X, Y float64) (x, y float64) {
	return X/r.Sx + r.Cx, Y/r.Sy + r.Cy
}

// Padded returns the pixels of the raster with n more on all sides, copies of the
// outermost ones. The result does not know where it lies in the picture.
func (r *Raster) Padded(n int) *Raster {
	out := NewRaster(r.Width+2*n, r.Height+2*n)
	for y := range out.Height {
		src, dst := r.Row(min(max(y-n, 0), r.Height-1)), out.Row(y)
		copy(dst[n:], src)
		for x := range n {
			dst[x], dst[n+r.Width+x] = src[0], src[r.Width-1]
		}
	}
	return out
}

// Oriented returns the raster with o applied. Upright returns r itself.
func (r *Raster) Oriented(o picture.Orientation) *Raster {
	if o == picture.Upright {
		return r
	}
	out := r.Blank()
	for y := range r.Height {
		src := r.Row(y)
		if o == picture.Flip || o == picture.Turn {
			src = r.Row(r.Height - 1 - y)
		}
		dst := out.Row(y)
		copy(dst, src)
		if o == picture.Flop || o == picture.Turn {
			slices.Reverse(dst)
		}
	}
	return out
}
