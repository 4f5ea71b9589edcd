package metrics

import "math"

// rasterWidth is the largest width of the raster that pictures are compared
// on. HD is halved to it and UHD quartered, which costs no accuracy of the
// fitted geometry that the correspondences could still show.
const rasterWidth = 1024

// raster is a picture of one channel in float32 code values, scaled so that
// full scale is about 255 whatever the file's depth, on nearly square pixels.
type raster struct {
	width, height int
	pix           []float32 // width*height

	// Where its pixels lie in the picture, in units of the picture height with
	// the origin at the picture's centre: column i is at (i−cx)*sx, row j at
	// (j−cy)*sy.
	cx, cy, sx, sy float64
	own            float64 // height of the picture's own pixels, likewise

	// What is left of noise that is each of the picture's pixels' own: its variance in a
	// raster's pixel per variance in the picture's, and the correlation of neighbours
	// along either axis.
	thin, lag float64
}

func newRaster(width, height int) *raster {
	return &raster{width: width, height: height, pix: make([]float32, width*height)}
}

// blank returns a raster without a picture that lies as r does.
func (r *raster) blank() *raster {
	out := *r
	out.pix = make([]float32, len(r.pix))
	return &out
}

func (r *raster) row(y int) []float32 { return r.pix[y*r.width:][:r.width:r.width] }

// place turns pixel coordinates into picture coordinates.
func (r *raster) place(x, y float64) (X, Y float64) {
	return (x - r.cx) * r.sx, (y - r.cy) * r.sy
}

// pixel turns picture coordinates into pixel coordinates.
func (r *raster) pixel(X, Y float64) (x, y float64) {
	return X/r.sx + r.cx, Y/r.sy + r.cy
}

// reduction returns by how many pixels across and down a picture is reduced:
// whole numbers that bring the width to rasterWidth and the pixels near square.
func reduction(f *Frame) (nx, ny int) {
	nx = (f.Width() + rasterWidth - 1) / rasterWidth
	ny = max(1, int(math.Round(float64(nx)*f.Aspect())))
	return nx, min(ny, f.Height())
}

// rasters reduces a frame's luma to the common raster, and half as far, rounded down:
// HD not at all. The fine raster is nil where the common one is as fine as the picture.
// The common one is the fine one halved wherever that comes out even: averages over
// boxes keep much that is too fine for their pixels, which pulls the places that are
// found between pixels to whole ones.
func rasters(f *Frame) (full, fine *raster) {
	nx, ny := reduction(f)
	if nx == 1 {
		return lumaRaster(f, nx, ny), nil
	}
	fine = lumaRaster(f, nx/2, max(ny/2, 1))
	if nx%2 == 0 && ny%2 == 0 {
		return fine.halve(), fine
	}
	return lumaRaster(f, nx, ny), fine
}

// lumaRaster reduces a frame's luma by averaging boxes of nx by ny pixels.
func lumaRaster(f *Frame, nx, ny int) *raster {
	if f.Layout != RGB {
		return boxRaster(f, f.Planes[0], nx, ny)
	}
	kr, kg, kb := f.Colour.luma(f.Height())
	r := boxRaster(f, f.Planes[0], nx, ny)
	g := boxRaster(f, f.Planes[1], nx, ny)
	b := boxRaster(f, f.Planes[2], nx, ny)
	for i := range r.pix {
		r.pix[i] = float32(kr)*r.pix[i] + float32(kg)*g.pix[i] + float32(kb)*b.pix[i]
	}
	return r
}

// boxRaster averages boxes of nx by ny samples of a plane as large as the
// frame. Columns and rows that fill no box are left out.
func boxRaster(f *Frame, p Plane, nx, ny int) *raster {
	r := newRaster(p.Width/nx, p.Height/ny)
	h := float64(f.Height())
	r.sx, r.sy = float64(nx)*f.Aspect()/h, float64(ny)/h
	r.cx, r.cy = float64(p.Width-nx)/float64(2*nx), float64(p.Height-ny)/float64(2*ny)
	r.thin = 1 / float64(nx*ny)
	r.own = 1 / h

	scale := float32(1) / float32(nx*ny*(1<<(f.Depth-8)))
	sums := make([]uint32, r.width)
	for y := range r.height {
		clear(sums)
		for k := range ny {
			addBoxes(sums, p.Row(y*ny+k), nx)
		}
		row := r.row(y)
		for x, s := range sums {
			row[x] = float32(s) * scale
		}
	}
	if f.Colour.Transfer == Linear {
		r.lighten()
	}
	return r
}

// lighten takes linear light to a display-like curve, so that dark places keep
// their share of the contrast.
func (r *raster) lighten() {
	for i, v := range r.pix {
		r.pix[i] = 255 * float32(math.Pow(float64(v)/255, 1/2.4))
	}
}

// halve returns the raster at half size, filtered by the binomial 1 3 3 1. Pixel i of
// the result is centred on pixel 2i+½.
func (r *raster) halve() *raster {
	w, h := r.width/2, r.height/2
	out := newRaster(w, h)
	out.sx, out.sy = 2*r.sx, 2*r.sy
	out.own = r.own
	out.cx, out.cy = (r.cx-0.5)/2, (r.cy-0.5)/2
	// The filter's correlation with itself is 20, 15, 6, 1 at shifts of 0 to 3, over 64.
	out.thin, out.lag = r.thin*sq((20+30*r.lag)/64), (6+16*r.lag)/(20+30*r.lag)
	if w == 0 || h == 0 {
		return out
	}
	// Rows are filtered across once, as they are needed, into a ring of four.
	var ring [4][]float32
	for i := range ring {
		ring[i] = make([]float32, w)
	}
	across := func(y int) {
		src := r.row(min(max(y, 0), r.height-1))
		dst := ring[(y+4)%4]
		for x := 1; x < w-1; x++ {
			s := src[2*x-1 : 2*x+3 : 2*x+3]
			dst[x] = (s[0] + 3*(s[1]+s[2]) + s[3]) * 0.125
		}
		for _, x := range [2]int{0, w - 1} {
			dst[x] = (src[max(2*x-1, 0)] + 3*(src[2*x]+src[2*x+1]) + src[min(2*x+2, r.width-1)]) * 0.125
		}
	}
	across(-1)
	across(0)
	for y := range h {
		across(2*y + 1)
		across(2*y + 2)
		a, b := ring[(2*y+3)%4], ring[(2*y)%4]
		c, d := ring[(2*y+1)%4], ring[(2*y+2)%4]
		dst := out.row(y)
		for x := range dst {
			dst[x] = (a[x] + 3*(b[x]+c[x]) + d[x]) * 0.125
		}
	}
	return out
}

// grain estimates the standard deviation of the pixel noise, from the quieter
// parts of the picture: per block the response to a filter that is blind to
// slopes and curvature along the axes (J. Immerkær, "Fast noise variance
// estimation", Computer Vision and Image Understanding 64(2), 1996; from
// memory), and of the blocks the one at a fifth from below.
func (r *raster) grain() float64 {
	const block = 32
	var blocks []float64
	for by := 1; by+block < r.height; by += block {
		for bx := 1; bx+block < r.width; bx += block {
			var sum float64
			for y := by; y < by+block; y += 2 {
				up, mid, down := r.row(y-1), r.row(y), r.row(y+1)
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
	return quantile(blocks, 0.2) / r.seen()
}

// seen returns how strongly the filter of grain responds to the raster's noise, as a
// share of its response to noise that is each pixel's own.
func (r *raster) seen() float64 { return 1 - 4.0/3*r.lag }

// smoothed returns the raster filtered by the binomial 1 2 1 both ways.
func (r *raster) smoothed() *raster {
	out := r.blank()
	line := make([]float32, r.width+2) // filtered down, with its ends once more
	for y := range r.height {
		up, mid, down := r.row(max(y-1, 0)), r.row(y), r.row(min(y+1, r.height-1))
		for x := range mid {
			line[x+1] = up[x] + 2*mid[x] + down[x]
		}
		line[0], line[r.width+1] = line[1], line[r.width]
		dst := out.row(y)
		for x := range dst {
			s := line[x : x+3 : x+3]
			dst[x] = (s[0] + 2*s[1] + s[2]) / 16
		}
	}
	return out
}

// padded returns the raster with n pixels more on all sides, copies of the
// outermost ones.
func (r *raster) padded(n int) *raster {
	out := newRaster(r.width+2*n, r.height+2*n)
	for y := range out.height {
		src, dst := r.row(min(max(y-n, 0), r.height-1)), out.row(y)
		copy(dst[n:], src)
		for x := range n {
			dst[x], dst[n+r.width+x] = src[0], src[r.width-1]
		}
	}
	return out
}
