package picture

import "math"

// Reduced is a frame's luma as the means over boxes of its pixels, some 240 of them across
// (see Boxes): a picture small enough to be made and looked at for every frame of a clip.
type Reduced struct {
	// Frame holds the means as one Grey plane, 16 bits deep, whose pixels have the shape
	// of the boxes. Code values are those of the frame, shifted up. So the white of full
	// range comes out lower than it is at that depth, by 0.4 % where the frame had 8 bits,
	// in both eyes alike.
	Frame *Frame
	// FullWidth and FullHeight are the size in pixels of the frame that was reduced, and
	// BoxWidth and BoxHeight that of a box. Boxes begin at the upper left; columns and
	// rows at the other edges that fill no box are left out.
	FullWidth, FullHeight int
	BoxWidth, BoxHeight   int
}

const (
	// reducedWidth is about how wide a reduced picture is.
	reducedWidth = 240
	// codingBlock is the side in pixels of the blocks in which most codecs code.
	codingBlock = 8
	// blocksFrom is the width in pixels from which boxes are of whole coding blocks: below
	// it a reduced picture would have less than 180 pixels across.
	blocksFrom = 1440
)

// Boxes returns how many pixels, across and down, make one of a reduced picture of a frame
// of that size, aspect being the width of a pixel over its height. From a width of 1440 on
// boxes are of whole coding blocks, so that a picture made of what a codec says of its
// blocks has the same boxes: 8 × 8 pixels for HD and 16 × 16 for UHD. The reduced picture
// is 180 to 360 pixels wide; smaller frames are left as they are.
func Boxes(width, height int, aspect float64) (nx, ny int) {
	if width >= blocksFrom {
		nx = nearestMultiple(float64(width)/reducedWidth, codingBlock)
		ny = nearestMultiple(float64(nx)*aspect, codingBlock)
	} else {
		nx = nearestMultiple(float64(width)/reducedWidth, 1)
		ny = nearestMultiple(float64(nx)*aspect, 1)
	}
	return min(nx, width), min(ny, height)
}

// nearestMultiple returns the multiple of n that is nearest to v, and n at least.
func nearestMultiple(v float64, n int) int {
	return n * max(1, int(math.Round(v/float64(n))))
}

// NewReduced returns the reduced picture of a frame of a width and height in pixels that is
// described by about, still black. About gives everything but the planes and the depth.
func NewReduced(about Frame, width, height int) *Reduced {
	aspect := about.Aspect()
	nx, ny := Boxes(width, height, aspect)
	columns, rows := width/nx, height/ny
	small := about
	small.Planes = []Plane{{Width: columns, Height: rows, Stride: columns, Pix: make([]uint16, columns*rows)}}
	small.Depth, small.PixelAspect = reducedDepth, aspect*float64(nx)/float64(ny)
	if small.Colour.Range == RangeUnspecified && small.Layout == YCbCr {
		small.Colour.Range = NarrowRange
	}
	small.Layout = Grey
	return &Reduced{Frame: &small, FullWidth: width, FullHeight: height, BoxWidth: nx, BoxHeight: ny}
}

// reducedDepth is the depth in bits of reduced pictures: it keeps a mean to 1/64 of a
// 10-bit code value.
const reducedDepth = 16

// Reduce returns the frame's reduced picture.
func Reduce(f *Frame) *Reduced {
	r := NewReduced(*f, f.Width(), f.Height())
	weights := []float64{1}
	if f.Layout == RGB {
		kr, kg, kb := f.Colour.LumaWeights(f.Height())
		weights = []float64{kr, kg, kb}
	}
	out := r.Frame.Planes[0]
	scale := float64(int(1)<<(reducedDepth-f.Depth)) / float64(r.BoxWidth*r.BoxHeight)
	sums, means := make([]uint32, out.Width), make([]float64, out.Width)
	for y := range out.Height {
		clear(means)
		for i, weight := range weights {
			clear(sums)
			for k := range r.BoxHeight {
				AddBoxes(sums, f.Planes[i].Row(y*r.BoxHeight+k), r.BoxWidth)
			}
			for x, sum := range sums {
				means[x] += weight * float64(sum)
			}
		}
		row := out.Row(y)
		for x, v := range means {
			row[x] = uint16(v*scale + 0.5)
		}
	}
	return r
}
