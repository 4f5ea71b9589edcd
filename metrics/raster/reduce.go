package raster

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// maxWidth is the largest width of the full raster, on which pictures are compared. HD
// is halved to it and UHD quartered; the fitted geometry does not get better with more.
const maxWidth = 1024

// Reduction returns how many pixels of the frame, across and down, make one of the full
// raster: whole numbers that bring the width to at most maxWidth and the pixels close to
// square.
func Reduction(f *picture.Frame) (nx, ny int) {
	nx = (f.Width() + maxWidth - 1) / maxWidth
	ny = max(1, int(math.Round(float64(nx)*f.Aspect())))
	return nx, min(ny, f.Height())
}

// FromFrame reduces a frame's luma to the full raster, and to a fine one that is reduced
// half as far, rounded down: HD not at all. Fine is nil where the full raster has the
// frame's own pixels. Where the reduction is an even number both ways, full is fine halved,
// as box averages alone would leave aliases.
func FromFrame(f *picture.Frame) (full, fine *Raster) {
	nx, ny := Reduction(f)
	if nx == 1 {
		return FromLuma(f, nx, ny), nil
	}
	fine = FromLuma(f, nx/2, max(ny/2, 1))
	if nx%2 == 0 && ny%2 == 0 {
		return fine.Halve(), fine
	}
	return FromLuma(f, nx, ny), fine
}

// FromLuma averages a frame's luma over boxes of nx by ny pixels.
func FromLuma(f *picture.Frame, nx, ny int) *Raster {
	if f.Layout != picture.RGB {
		return fromPlane(f, f.Planes[0], nx, ny)
	}
	kr, kg, kb := f.Colour.LumaWeights(f.Height())
	r := fromPlane(f, f.Planes[0], nx, ny)
	g := fromPlane(f, f.Planes[1], nx, ny)
	b := fromPlane(f, f.Planes[2], nx, ny)
	for i := range r.Pix {
		r.Pix[i] = float32(kr)*r.Pix[i] + float32(kg)*g.Pix[i] + float32(kb)*b.Pix[i]
	}
	return r
}

// fromPlane averages boxes of nx by ny samples of a plane as large as the
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

// encodeLinear takes linear light to a display-like curve, so that dark places keep
// their share of the contrast.
func (r *Raster) encodeLinear() {
	for i, v := range r.Pix {
		r.Pix[i] = 255 * float32(math.Pow(float64(v)/255, 1/2.4))
	}
}

// Halve returns the raster at half size, rounded down, filtered by the binomial 1 3 3 1.
// Pixel i of the result is centred on pixel 2i+½.
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
