package light

import (
	"math"
	"slices"

	"nightpair/metrics/depth"
	"nightpair/metrics/geometry"
	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

// Overlap is what the two eyes show of the same places: the signal of red, green
// and blue from black 0 to white 1, on the quarter raster of the left picture.
// Means of signals, not of light: a display curve is nearly a power of the
// light, so that a gain in light is a gain of the signal, a lifted black is
// added to it, and thinned-out chroma has been averaged as signals already.
type Overlap struct {
	Width, Height int
	Left, Right   *Cells
	// Known says which places were found in both eyes.
	Known []bool
	// blur is by how much the signal changes over what the places are uncertain
	// by: the error that misplacing brings.
	blur []float32
	// At is the parallax of a known place in pixels of the quarter raster.
	At []float32
}

// Cells is a picture on the quarter raster.
type Cells struct {
	Width, height int
	Signal        [3][]float32
	// Peak is the highest signal of any of the three within the cell.
	Peak []float32
}

// NewCells averages a frame over the pixels of its quarter raster.
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
		// Chroma planes are thinned out by whole numbers that divide the cell.
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

// gather averages the full raster over cells of quarter by quarter pixels.
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

// cells averages boxes of px by py samples.
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

// findPeaks takes the highest luma within each cell, and what its highest
// channel is above the luma on the mean.
func (c *Cells) findPeaks(f *picture.Frame, full *raster.Raster, s picture.Signal) {
	scale := float32(int(1) << (f.Depth - 8))
	kr, kg, kb := f.Colour.Luma(f.Height())
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
			if f.Colour.Transfer == picture.Linear { // the raster holds a display-like curve then
				top = float32(math.Pow(float64(dst[x]/255), 2.4)) * (s.White - s.Black)
			}
			luma := float32(kr)*r + float32(kg)*g + float32(kb)*b
			dst[x] = top/(s.White-s.Black) + max(r, g, b) - luma
		}
	}
}

// Places are uncertain by so much, in pixels of the quarter raster: across by
// the dense map's own error, up and down by that of the fitted geometry.
const (
	astray     = 0.10
	astrayDown = 0.05
)

// NewOverlap samples both eyes where the dense map says that they show the same.
func NewOverlap(from, to *Cells, right *raster.Raster, d *depth.Map, g *geometry.Fit) *Overlap {
	w, h := from.Width, from.height
	out := &Overlap{
		Width: w, Height: h, Left: newSamples(w, h), Right: newSamples(w, h),
		Known: make([]bool, w*h), blur: make([]float32, w*h), At: make([]float32, w*h),
	}
	green := from.Signal[1]
	for y := range h {
		for x := range w {
			i := y*w + x
			p := d.Parallax[i]
			if p != p {
				continue
			}
			at := float64(p) / raster.Quarter
			down := g.DisplacementAt(right, float64(x)+at, float64(y))
			// Reading between cells blurs, so both eyes are read equally far
			// between them: each takes half of what is left of whole cells.
			u, v := (at-math.Round(at))/2, (down-math.Round(down))/2
			lx, ly := float64(x)-u, float64(y)-v
			if !out.Left.sample(i, from, lx, ly) || !out.Right.sample(i, to, lx+at, ly+down) {
				continue
			}
			out.Known[i], out.At[i] = true, float32(at)
			gx := green[y*w+min(x+1, w-1)] - green[y*w+max(x-1, 0)]
			gy := green[min(y+1, h-1)*w+x] - green[max(y-1, 0)*w+x]
			out.blur[i] = max(gx, -gx)*astray/2 + max(gy, -gy)*astrayDown/2
		}
	}
	return out
}

func newSamples(w, h int) *Cells {
	c := &Cells{Width: w, height: h, Peak: make([]float32, w*h)}
	for k := range c.Signal {
		c.Signal[k] = make([]float32, w*h)
	}
	return c
}

// sample reads cells at a place between them into cell i. It reports false
// outside the picture.
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

// surfaceApart is by how many pixels of the quarter raster neighbours on one surface
// differ in parallax at most.
const surfaceApart = 0.75

// onSurface reports whether a place and those around it were found at nearly the
// same parallax, so that no edge of something nearer runs through it.
func (l *Overlap) onSurface(x, y int) bool {
	if x == 0 || y == 0 || x == l.Width-1 || y == l.Height-1 {
		return false
	}
	i := y*l.Width + x
	if !l.Known[i] {
		return false
	}
	for _, j := range [...]int{i - 1, i + 1, i - l.Width, i + l.Width} {
		if !l.Known[j] || math.Abs(float64(l.At[j]-l.At[i])) > surfaceApart {
			return false
		}
	}
	return true
}

// Without returns the places but for those of a patch.
func (l *Overlap) Without(patch []bool) *Overlap {
	out := *l
	out.Known = slices.Clone(l.Known)
	for i, in := range patch {
		out.Known[i] = out.Known[i] && !in
	}
	return &out
}
