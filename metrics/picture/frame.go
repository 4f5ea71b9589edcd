package picture

import "time"

// Plane is one channel of a picture: Height rows of Width samples, row y
// starting at Pix[y*Stride]. Samples hold the file's own code values, in the
// low Frame.Depth bits.
type Plane struct {
	Width, Height int
	Stride        int // samples from one row to the next, at least Width
	Pix           []uint16
}

// Row returns row y, counted from the top, Width samples long.
func (p Plane) Row(y int) []uint16 {
	return p.Pix[y*p.Stride:][:p.Width:p.Width]
}

// Frame is one decoded picture. It is never changed once a decoder has
// returned it, so frames may share planes.
type Frame struct {
	// Planes holds Y for Grey; Y, Cb, Cr for YCbCr, where the chroma planes
	// may be smaller; R, G, B for RGB. Alpha is dropped.
	Planes []Plane
	Layout Layout
	Depth  int // significant bits of a sample, 8 to 16
	Colour Colour

	// PixelAspect is the width of a pixel over its height; 0 means 1.
	PixelAspect float64

	// Index counts the frames of the file in presentation order from 0; Time
	// is the presentation time since frame 0.
	Index int
	Time  time.Duration
}

// Width returns the width of the picture in pixels.
func (f *Frame) Width() int { return f.Planes[0].Width }

// Height returns the height of the picture in pixels.
func (f *Frame) Height() int { return f.Planes[0].Height }

// Aspect returns the width of a pixel over its height, above 0.
func (f *Frame) Aspect() float64 {
	if f.PixelAspect > 0 {
		return f.PixelAspect
	}
	return 1
}

// Layout says what the planes of a frame are.
type Layout uint8

const (
	Grey  Layout = iota // luma alone
	YCbCr               // luma with two colour differences
	RGB                 // red, green, blue
)
