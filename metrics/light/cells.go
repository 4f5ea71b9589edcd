package light

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

// Cells is a picture on its quarter raster: means of signals, black 0 and white 1.
type Cells struct {
	Width, height int
	Signal        [3][]float32 // of red, green and blue, row by row
	// Peak is the highest signal of any of the three within the cell, estimated from the
	// luma's where the colours are subsampled.
	Peak []float32
}

// NewCells averages a frame over the pixels of its quarter raster. It reuses the full raster
// of its level where that holds the luma's code values.
func NewCells(f *picture.Frame, l *raster.Pyramid) *Cells {
	w, h := l.Quarter.Width, l.Quarter.Height
	c := &Cells{Width: w, height: h, Peak: make([]float32, w*h)}
	s := f.Signal()
	nx, ny := raster.Reduction(f)
	nx, ny = raster.Quarter*nx, raster.Quarter*ny
	var code [3][]float32
	for i, p := range f.Planes {
		if i == 0 && f.Layout != picture.RGB && f.Colour.Transfer != picture.Linear {
			code[0] = gather(l.Full, w, h, float32(int(1)<<(f.Depth-8)))
			continue
		}
		// The factors of chroma subsampling divide the cell.
		px := nx / ((f.Width() + p.Width - 1) / p.Width)
		py := ny / ((f.Height() + p.Height - 1) / p.Height)
		code[i] = cellsOf(p, w, h, px, py)
	}
	for i := range c.Signal {
		c.Signal[i] = make([]float32, w*h)
	}
	for i := range w * h {
		var v [3]float32
		for k := range f.Planes {
			v[k] = code[k][i]
		}
		c.Signal[0][i], c.Signal[1][i], c.Signal[2][i] = s.RGB(v)
	}
	c.findPeaks(f, l.Full, s)
	return c
}

// gather averages the full raster over cells of raster.Quarter by raster.Quarter pixels.
func gather(r *raster.Raster, w, h int, scale float32) []float32 {
	out := make([]float32, w*h)
	scale /= raster.Quarter * raster.Quarter
	for y := range h {
		dst := out[y*w:][:w]
		for j := range raster.Quarter {
			src := r.Row(raster.Quarter*y + j)[:raster.Quarter*w]
			for x := range dst {
				s := src[raster.Quarter*x:][:raster.Quarter]
				dst[x] += s[0] + s[1] + s[2] + s[3]
			}
		}
		for x := range dst {
			dst[x] *= scale
		}
	}
	return out
}

// cellsOf averages a plane over cells of px by py samples.
func cellsOf(p picture.Plane, w, h, px, py int) []float32 {
	out := make([]float32, w*h)
	sums := make([]uint32, w)
	scale := 1 / float32(px*py)
	for y := range h {
		clear(sums)
		for j := range py {
			row := p.Row(min(y*py+j, p.Height-1))
			if len(row) >= w*px {
				picture.AddBoxes(sums, row, px)
				continue
			}
			for x := range sums {
				for i := range px {
					sums[x] += uint32(row[min(x*px+i, len(row)-1)])
				}
			}
		}
		for x, s := range sums {
			out[y*w+x] = float32(s) * scale
		}
	}
	return out
}

// findPeaks sets each cell's peak to its highest luma plus what its highest channel is above
// the luma on the mean.
func (c *Cells) findPeaks(f *picture.Frame, full *raster.Raster, s picture.Signal) {
	scale := float32(int(1) << (f.Depth - 8))
	kr, kg, kb := f.Colour.LumaWeights(f.Height())
	for y := range c.height {
		dst := c.Peak[y*c.Width:][:c.Width]
		for x := range dst {
			dst[x] = full.Pix[raster.Quarter*y*full.Width+raster.Quarter*x]
		}
		for j := range raster.Quarter {
			src := full.Row(raster.Quarter*y + j)
			for x := range dst {
				q := src[raster.Quarter*x:][:raster.Quarter]
				dst[x] = max(dst[x], max(q[0], q[1]), max(q[2], q[3]))
			}
		}
		for x := range dst {
			i := y*c.Width + x
			r, g, b := c.Signal[0][i], c.Signal[1][i], c.Signal[2][i]
			top := dst[x]*scale - s.Black
			if f.Colour.Transfer == picture.Linear { // the raster holds code values of a display curve then
				top = float32(math.Pow(float64(dst[x]/255), 2.4)) * (s.White - s.Black)
			}
			luma := float32(kr)*r + float32(kg)*g + float32(kb)*b
			dst[x] = top/(s.White-s.Black) + max(r, g, b) - luma
		}
	}
}

// newCells returns black cells.
func newCells(w, h int) *Cells {
	c := &Cells{Width: w, height: h, Peak: make([]float32, w*h)}
	for k := range c.Signal {
		c.Signal[k] = make([]float32, w*h)
	}
	return c
}

// sample sets cell i to what another picture shows at a place between its cells, by bilinear
// interpolation. It reports false outside that picture.
func (c *Cells) sample(i int, from *Cells, x, y float64) bool {
	x0, y0 := int(math.Floor(x)), int(math.Floor(y))
	if x0 < 0 || y0 < 0 || x0+1 >= from.Width || y0+1 >= from.height {
		return false
	}
	u, v := float32(x-float64(x0)), float32(y-float64(y0))
	a, b := y0*from.Width+x0, (y0+1)*from.Width+x0
	for k, plane := range from.Signal {
		c.Signal[k][i] = (1-v)*((1-u)*plane[a]+u*plane[a+1]) + v*((1-u)*plane[b]+u*plane[b+1])
	}
	p := from.Peak
	c.Peak[i] = max(p[a], p[a+1], p[b], p[b+1])
	return true
}
