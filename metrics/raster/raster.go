package raster

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// rasterWidth is the largest width of the raster that pictures are compared
// on. HD is halved to it and UHD quartered, which costs no accuracy of the
// fitted geometry that the correspondences could still show.
const maxWidth = 1024

// Raster is a picture of one channel in float32 code values, scaled so that
// full scale is about 255 whatever the file's depth, on nearly square pixels.
type Raster struct {
	Width, Height int
	Pix           []float32 // width*height

	// Where its pixels lie in the picture, in units of the picture height with
	// the origin at the picture's centre: column i is at (i−cx)*sx, row j at
	// (j−cy)*sy.
	Cx, Cy, Sx, Sy float64
	FramePixel     float64 // height of the picture's own pixels, likewise

	// What is left of noise that is each of the picture's pixels' own: its variance in a
	// raster's pixel per variance in the picture's, and the correlation of neighbours
	// along either axis.
	NoiseGain, NoiseCorrelation float64
}

func NewRaster(width, height int) *Raster {
	return &Raster{Width: width, Height: height, Pix: make([]float32, width*height)}
}

// Blank returns a raster without a picture that lies as r does.
func (r *Raster) Blank() *Raster {
	out := *r
	out.Pix = make([]float32, len(r.Pix))
	return &out
}

func (r *Raster) Row(y int) []float32 { return r.Pix[y*r.Width:][:r.Width:r.Width] }

// Place turns pixel coordinates into picture coordinates.
func (r *Raster) Place(x, y float64) (X, Y float64) {
	return (x - r.Cx) * r.Sx, (y - r.Cy) * r.Sy
}

// Pixel turns picture coordinates into pixel coordinates.
func (r *Raster) Pixel(X, Y float64) (x, y float64) {
	return X/r.Sx + r.Cx, Y/r.Sy + r.Cy
}

// Reduction returns by how many pixels across and down a picture is reduced:
// whole numbers that bring the width to rasterWidth and the pixels near square.
func Reduction(f *picture.Frame) (nx, ny int) {
	nx = (f.Width() + maxWidth - 1) / maxWidth
	ny = max(1, int(math.Round(float64(nx)*f.Aspect())))
	return nx, min(ny, f.Height())
}

// Rasters reduces a frame's luma to the common raster, and half as far, rounded down:
// HD not at all. The fine raster is nil where the common one is as fine as the picture.
// The common one is the fine one halved wherever that comes out even: averages over
// boxes keep much that is too fine for their pixels, which pulls the places that are
// found between pixels to whole ones.
func FromFrame(f *picture.Frame) (full, fine *Raster) {
	nx, ny := Reduction(f)
	if nx == 1 {
		return fromLuma(f, nx, ny), nil
	}
	fine = fromLuma(f, nx/2, max(ny/2, 1))
	if nx%2 == 0 && ny%2 == 0 {
		return fine.Halve(), fine
	}
	return fromLuma(f, nx, ny), fine
}

// lumaRaster reduces a frame's luma by averaging boxes of nx by ny pixels.
func fromLuma(f *picture.Frame, nx, ny int) *Raster {
	if f.Layout != picture.RGB {
		return fromPlane(f, f.Planes[0], nx, ny)
	}
	kr, kg, kb := f.Colour.Luma(f.Height())
	r := fromPlane(f, f.Planes[0], nx, ny)
	g := fromPlane(f, f.Planes[1], nx, ny)
	b := fromPlane(f, f.Planes[2], nx, ny)
	for i := range r.Pix {
		r.Pix[i] = float32(kr)*r.Pix[i] + float32(kg)*g.Pix[i] + float32(kb)*b.Pix[i]
	}
	return r
}

// boxRaster averages boxes of nx by ny samples of a plane as large as the
// frame. Columns and rows that fill no box are left out.
func fromPlane(f *picture.Frame, p picture.Plane, nx, ny int) *Raster {
	r := NewRaster(p.Width/nx, p.Height/ny)
	h := float64(f.Height())
	r.Sx, r.Sy = float64(nx)*f.Aspect()/h, float64(ny)/h
	r.Cx, r.Cy = float64(p.Width-nx)/float64(2*nx), float64(p.Height-ny)/float64(2*ny)
	r.NoiseGain = 1 / float64(nx*ny)
	r.FramePixel = 1 / h

	scale := float32(1) / float32(nx*ny*(1<<(f.Depth-8)))
	sums := make([]uint32, r.Width)
	for y := range r.Height {
		clear(sums)
		for k := range ny {
			picture.AddBoxes(sums, p.Row(y*ny+k), nx)
		}
		row := r.Row(y)
		for x, s := range sums {
			row[x] = float32(s) * scale
		}
	}
	if f.Colour.Transfer == picture.Linear {
		r.encodeLinear()
	}
	return r
}

// lighten takes linear light to a display-like curve, so that dark places keep
// their share of the contrast.
func (r *Raster) encodeLinear() {
	for i, v := range r.Pix {
		r.Pix[i] = 255 * float32(math.Pow(float64(v)/255, 1/2.4))
	}
}

// Halve returns the raster at half size, filtered by the binomial 1 3 3 1. Pixel i of
// the result is centred on pixel 2i+½.
func (r *Raster) Halve() *Raster {
	w, h := r.Width/2, r.Height/2
	out := NewRaster(w, h)
	out.Sx, out.Sy = 2*r.Sx, 2*r.Sy
	out.FramePixel = r.FramePixel
	out.Cx, out.Cy = (r.Cx-0.5)/2, (r.Cy-0.5)/2
	// The filter's correlation with itself is 20, 15, 6, 1 at shifts of 0 to 3, over 64.
	out.NoiseGain, out.NoiseCorrelation = r.NoiseGain*stat.Sq((20+30*r.NoiseCorrelation)/64), (6+16*r.NoiseCorrelation)/(20+30*r.NoiseCorrelation)
	if w == 0 || h == 0 {
		return out
	}
	// Rows are filtered across once, as they are needed, into a ring of four.
	var ring [4][]float32
	for i := range ring {
		ring[i] = make([]float32, w)
	}
	across := func(y int) {
		src := r.Row(min(max(y, 0), r.Height-1))
		dst := ring[(y+4)%4]
		for x := 1; x < w-1; x++ {
			s := src[2*x-1 : 2*x+3 : 2*x+3]
			dst[x] = (s[0] + 3*(s[1]+s[2]) + s[3]) * 0.125
		}
		for _, x := range [2]int{0, w - 1} {
			dst[x] = (src[max(2*x-1, 0)] + 3*(src[2*x]+src[2*x+1]) + src[min(2*x+2, r.Width-1)]) * 0.125
		}
	}
	across(-1)
	across(0)
	for y := range h {
		across(2*y + 1)
		across(2*y + 2)
		a, b := ring[(2*y+3)%4], ring[(2*y)%4]
		c, d := ring[(2*y+1)%4], ring[(2*y+2)%4]
		dst := out.Row(y)
		for x := range dst {
			dst[x] = (a[x] + 3*(b[x]+c[x]) + d[x]) * 0.125
		}
	}
	return out
}

// noise estimates the standard deviation of the pixel noise, from the quieter
// parts of the picture: per block the response to a filter that is blind to
// slopes and curvature along the axes (J. Immerkær, "Fast noise variance
// estimation", Computer Vision and Image Understanding 64(2), 1996; from
// memory), and of the blocks the one at a fifth from below.
func (r *Raster) estimateNoise() float64 {
	const block = 32
	var blocks []float64
	for by := 1; by+block < r.Height; by += block {
		for bx := 1; bx+block < r.Width; bx += block {
			var sum float64
			for y := by; y < by+block; y += 2 {
				up, mid, down := r.Row(y-1), r.Row(y), r.Row(y+1)
				for x := bx; x < bx+block; x++ {
					v := up[x-1] - 2*up[x] + up[x+1] -
						2*(mid[x-1]-2*mid[x]+mid[x+1]) +
						down[x-1] - 2*down[x] + down[x+1]
					sum += math.Abs(float64(v))
				}
			}
			// E|v| of the filter's response is 6σ·√(2/π).
			blocks = append(blocks, math.Sqrt(math.Pi/2)/6*sum/(block*block/2))
		}
	}
	if len(blocks) == 0 {
		return 0
	}
	return stat.Quantile(blocks, 0.2) / r.noiseResponse()
}

// seen returns how strongly the filter of grain responds to the raster's noise, as a
// share of its response to noise that is each pixel's own.
func (r *Raster) noiseResponse() float64 { return 1 - 4.0/3*r.NoiseCorrelation }

// Smoothed returns the raster filtered by the binomial 1 2 1 both ways.
func (r *Raster) Smoothed() *Raster {
	out := r.Blank()
	line := make([]float32, r.Width+2) // filtered down, with its ends once more
	for y := range r.Height {
		up, mid, down := r.Row(max(y-1, 0)), r.Row(y), r.Row(min(y+1, r.Height-1))
		for x := range mid {
			line[x+1] = up[x] + 2*mid[x] + down[x]
		}
		line[0], line[r.Width+1] = line[1], line[r.Width]
		dst := out.Row(y)
		for x := range dst {
			s := line[x : x+3 : x+3]
			dst[x] = (s[0] + 2*s[1] + s[2]) / 16
		}
	}
	return out
}

// Padded returns the raster with n pixels more on all sides, copies of the
// outermost ones.
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
