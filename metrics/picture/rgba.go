package picture

import (
	"image"
	"math"
	"sync"
)

// Thumbnail returns the frame as a small picture to look at on an ordinary
// display, width pixels wide and as high as square pixels make it. Code values
// become sRGB by the frame's own colour tags: range, matrix, transfer and
// primaries. Light above reference white is clipped. A log curve keeps its
// code values and looks as flat as it is. Each pixel averages the code values
// of the part of the frame that it covers.
func (f *Frame) Thumbnail(width int) *image.RGBA {
	height := max(1, int(math.Round(float64(width)*float64(f.Height())/(float64(f.Width())*f.Aspect()))))
	out := image.NewRGBA(image.Rect(0, 0, width, height))
	planes := make([][]float32, len(f.Planes))
	for i, p := range f.Planes {
		planes[i] = p.Boxed(width, height)
	}
	signal := f.Signal()
	screen := f.Colour.screen()
	for i := range width * height {
		var code [3]float32
		for c, plane := range planes {
			code[c] = plane[i]
		}
		r, g, b := screen.show(signal.RGB(code))
		copy(out.Pix[4*i:], []uint8{r, g, b, 255})
	}
	return out
}

// screen turns non-linear values of a camera's or a file's curve into those of
// an ordinary display.
type screen struct {
	light  []float32 // light of a non-linear value, in steps of 1/(len−1)
	matrix [3][3]float32
	raw    bool // values are shown as they are
}

// lightSteps is the length of a table from non-linear values to light: its
// step is a sixteenth of a code value of the 8-bit picture.
const lightSteps = 16*255 + 1

// screen returns what shows values of this colour on an ordinary display.
func (c Colour) screen() screen {
	if c.Transfer == LogCurve || c.Transfer == SRGB && c.Primaries <= PrimariesBT709 {
		return screen{raw: true}
	}
	s := screen{light: make([]float32, lightSteps)}
	for i := range s.light {
		s.light[i] = float32(c.Transfer.Light(float64(i) / (lightSteps - 1)))
	}
	for y, row := range c.Primaries.ToBT709() {
		for x, v := range row {
			s.matrix[y][x] = float32(v)
		}
	}
	return s
}

// show returns the 8-bit values of non-linear red, green and blue.
func (s screen) show(r, g, b float32) (r8, g8, b8 uint8) {
	if s.raw {
		return to8Bit(r), to8Bit(g), to8Bit(b)
	}
	lit := func(v float32) float32 { return s.light[int(clamped(v)*(lightSteps-1)+0.5)] }
	r, g, b = lit(r), lit(g), lit(b)
	codes := srgbCodes()
	out := func(row [3]float32) uint8 {
		return codes[int(clamped(row[0]*r+row[1]*g+row[2]*b)*float32(len(codes)-1)+0.5)]
	}
	return out(s.matrix[0]), out(s.matrix[1]), out(s.matrix[2])
}

func clamped(v float32) float32 { return min(max(v, 0), 1) }

func to8Bit(v float32) uint8 { return uint8(clamped(v)*255 + 0.5) }

// srgbCodes is the table from light to 8-bit sRGB. Its steps are a twentieth
// of a code value where the curve is steepest.
var srgbCodes = sync.OnceValue(func() []uint8 {
	codes := make([]uint8, 1<<16)
	for i := range codes {
		codes[i] = uint8(encodeSRGB(float64(i)/float64(len(codes)-1))*255 + 0.5)
	}
	return codes
})
