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

// Frame is one decoded picture. It is never changed once a reader has
// returned it, so planes may be shared between frames.
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

// Width and Height give the size of the picture in pixels.
func (f *Frame) Width() int  { return f.Planes[0].Width }
func (f *Frame) Height() int { return f.Planes[0].Height }

// Aspect gives the width of a pixel over its height.
func (f *Frame) Aspect() float64 {
	if f.PixelAspect > 0 {
		return f.PixelAspect
	}
	return 1
}

// Layout says what the planes of a frame are.
type Layout uint8

const (
	Grey Layout = iota
	YCbCr
	RGB
)

// Colour says how code values become light. The zero value means that the
// file does not say.
type Colour struct {
	Range     Range
	Matrix    Matrix
	Transfer  Transfer
	Primaries Primaries
}

// Range says which code values stand for black and white. Unspecified is read
// as narrow for YCbCr and as full for RGB and grey stills.
type Range uint8

const (
	RangeUnspecified Range = iota
	NarrowRange            // 16 to 235 of 255 for luma, 16 to 240 for chroma (Rec. ITU-R BT.709)
	FullRange              // 0 to 2^Depth − 1
)

// Matrix names the luma coefficients. Unspecified is read as BT.709 from 720
// lines on and as BT.601 below (common practice).
type Matrix uint8

const (
	MatrixUnspecified Matrix = iota
	BT601
	BT709
	BT2020
)

// Transfer names the curve from code values to light. Unspecified is read as
// BT.1886, the display curve of BT.709 and BT.2020 material.
type Transfer uint8

const (
	TransferUnspecified Transfer = iota
	BT1886
	SRGB
	Linear
	PQ
	HLG
	LogCurve // a camera's log curve of unknown shape: kept as code values
)

// Primaries names the colours of red, green and blue. Unspecified is read as
// BT.709.
type Primaries uint8

const (
	PrimariesUnspecified Primaries = iota
	PrimariesBT709
	PrimariesBT2020
	PrimariesP3
)
