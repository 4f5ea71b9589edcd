package metrics

import (
	"math"
	"slices"
)

// lights is what the two eyes show of the same places: the signal of red, green
// and blue from black 0 to white 1, on the quarter raster of the left picture.
// Means of signals, not of light: a display curve is nearly a power of the
// light, so that a gain in light is a gain of the signal, a lifted black is
// added to it, and thinned-out chroma has been averaged as signals already.
type lights struct {
	width, height int
	left, right   *cells
	// known says which places were found in both eyes.
	known []bool
	// blur is by how much the signal changes over what the places are uncertain
	// by: the error that misplacing brings.
	blur []float32
	// at is the parallax of a known place in pixels of the quarter raster.
	at []float32
}

// cells is a picture on the quarter raster.
type cells struct {
	width, height int
	signal        [3][]float32
	// peak is the highest signal of any of the three within the cell.
	peak []float32
}

// newCells averages a frame over the pixels of its quarter raster.
func newCells(f *Frame, l *level) *cells {
	w, h := l.quarter.width, l.quarter.height
	c := &cells{width: w, height: h, peak: make([]float32, w*h)}
	s := f.signal()
	nx, ny := reduction(f)
	nx, ny = quarter*nx, quarter*ny
	var code [3][]float32
	for i, p := range f.Planes {
		if i == 0 && f.Layout != RGB && f.Colour.Transfer != Linear {
			code[0] = gather(l.full, w, h, float32(int(1)<<(f.Depth-8)))
			continue
		}
		// Chroma planes are thinned out by whole numbers that divide the cell.
		px := nx / ((f.Width() + p.Width - 1) / p.Width)
		py := ny / ((f.Height() + p.Height - 1) / p.Height)
		code[i] = cellsOf(p, w, h, px, py)
	}
	for i := range c.signal {
		c.signal[i] = make([]float32, w*h)
	}
	for i := range w * h {
		var v [3]float32
		for k := range f.Planes {
			v[k] = code[k][i]
		}
		c.signal[0][i], c.signal[1][i], c.signal[2][i] = s.rgb(v)
	}
	c.findPeaks(f, l.full, s)
	return c
}

// gather averages the full raster over cells of quarter by quarter pixels.
func gather(r *raster, w, h int, scale float32) []float32 {
	out := make([]float32, w*h)
	scale /= quarter * quarter
	for y := range h {
		dst := out[y*w:][:w]
		for j := range quarter {
			src := r.row(quarter*y + j)[:quarter*w]
			for x := range dst {
				s := src[quarter*x:][:quarter]
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
func cellsOf(p Plane, w, h, px, py int) []float32 {
	out := make([]float32, w*h)
	sums := make([]uint32, w)
	scale := 1 / float32(px*py)
	for y := range h {
		clear(sums)
		for j := range py {
			row := p.Row(min(y*py+j, p.Height-1))
			if len(row) >= w*px {
				addBoxes(sums, row, px)
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
func (c *cells) findPeaks(f *Frame, full *raster, s signal) {
	scale := float32(int(1) << (f.Depth - 8))
	kr, kg, kb := f.Colour.luma(f.Height())
	for y := range c.height {
		dst := c.peak[y*c.width:][:c.width]
		for x := range dst {
			dst[x] = full.pix[quarter*y*full.width+quarter*x]
		}
		for j := range quarter {
			src := full.row(quarter*y + j)
			for x := range dst {
				q := src[quarter*x:][:quarter]
				dst[x] = max(dst[x], max(q[0], q[1]), max(q[2], q[3]))
			}
		}
		for x := range dst {
			i := y*c.width + x
			r, g, b := c.signal[0][i], c.signal[1][i], c.signal[2][i]
			top := dst[x]*scale - s.black
			if f.Colour.Transfer == Linear { // the raster holds a display-like curve then
				top = float32(math.Pow(float64(dst[x]/255), 2.4)) * (s.white - s.black)
			}
			luma := float32(kr)*r + float32(kg)*g + float32(kb)*b
			dst[x] = top/(s.white-s.black) + max(r, g, b) - luma
		}
	}
}

// Places are uncertain by so much, in pixels of the quarter raster: across by
// the dense map's own error, up and down by that of the fitted geometry.
const (
	astray     = 0.10
	astrayDown = 0.05
)

// newLights samples both eyes where the dense map says that they show the same.
func newLights(from, to *cells, right *raster, d *disparity, g *geometry) *lights {
	w, h := from.width, from.height
	out := &lights{
		width: w, height: h, left: newSamples(w, h), right: newSamples(w, h),
		known: make([]bool, w*h), blur: make([]float32, w*h), at: make([]float32, w*h),
	}
	green := from.signal[1]
	for y := range h {
		for x := range w {
			i := y*w + x
			p := d.parallax[i]
			if p != p {
				continue
			}
			at := float64(p) / quarter
			down := g.dropAt(right, float64(x)+at, float64(y))
			// Reading between cells blurs, so both eyes are read equally far
			// between them: each takes half of what is left of whole cells.
			u, v := (at-math.Round(at))/2, (down-math.Round(down))/2
			lx, ly := float64(x)-u, float64(y)-v
			if !out.left.sample(i, from, lx, ly) || !out.right.sample(i, to, lx+at, ly+down) {
				continue
			}
			out.known[i], out.at[i] = true, float32(at)
			gx := green[y*w+min(x+1, w-1)] - green[y*w+max(x-1, 0)]
			gy := green[min(y+1, h-1)*w+x] - green[max(y-1, 0)*w+x]
			out.blur[i] = max(gx, -gx)*astray/2 + max(gy, -gy)*astrayDown/2
		}
	}
	return out
}

func newSamples(w, h int) *cells {
	c := &cells{width: w, height: h, peak: make([]float32, w*h)}
	for k := range c.signal {
		c.signal[k] = make([]float32, w*h)
	}
	return c
}

// sample reads cells at a place between them into cell i. It reports false
// outside the picture.
func (c *cells) sample(i int, from *cells, x, y float64) bool {
	x0, y0 := int(math.Floor(x)), int(math.Floor(y))
	if x0 < 0 || y0 < 0 || x0+1 >= from.width || y0+1 >= from.height {
		return false
	}
	u, v := float32(x-float64(x0)), float32(y-float64(y0))
	a, b := y0*from.width+x0, (y0+1)*from.width+x0
	for k, plane := range from.signal {
		c.signal[k][i] = (1-v)*((1-u)*plane[a]+u*plane[a+1]) + v*((1-u)*plane[b]+u*plane[b+1])
	}
	p := from.peak
	c.peak[i] = max(p[a], p[a+1], p[b], p[b+1])
	return true
}

// surfaceApart is by how many pixels of the quarter raster neighbours on one surface
// differ in parallax at most.
const surfaceApart = 0.75

// settled reports whether a place and those around it were found at nearly the
// same parallax, so that no edge of something nearer runs through it.
func (l *lights) settled(x, y int) bool {
	if x == 0 || y == 0 || x == l.width-1 || y == l.height-1 {
		return false
	}
	i := y*l.width + x
	if !l.known[i] {
		return false
	}
	for _, j := range [...]int{i - 1, i + 1, i - l.width, i + l.width} {
		if !l.known[j] || math.Abs(float64(l.at[j]-l.at[i])) > surfaceApart {
			return false
		}
	}
	return true
}

// without returns the places but for those of a patch.
func (l *lights) without(patch []bool) *lights {
	out := *l
	out.known = slices.Clone(l.known)
	for i, in := range patch {
		out.known[i] = out.known[i] && !in
	}
	return &out
}
