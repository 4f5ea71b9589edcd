package depth

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

const (
	// sharpReach is how far, in places of the map, an edge may lie that sharpness sees, with
	// what matching may assign to the wrong side of it.
	sharpReach = 3
	// sharpClear is the smallest range of values around a place, in standard deviations of
	// the noise: noise alone ranges over six.
	sharpClear = 12
)

// sharpness returns, for each place of the map, how steep the steepest edge around it is in the
// left picture f: the largest step from one pixel of the frame to the next, over the range of
// values in three by three places. It is some 0.5 for an edge as sharp as pixels show
// and 1/(σ√2π) for one blurred by a Gaussian, whatever the contrast; NaN where there is too
// little contrast to stand out of the noise.
func sharpness(f *picture.Frame, noise *raster.NoiseCurve, width, height int) []float32 {
	plane := f.Planes[0]
	noiseGain := 1.0 // how much of a channel's noise variance the plane has
	switch f.Layout {
	case picture.RGB:
		plane = f.Planes[1]
	case picture.YCbCr:
		kr, kg, kb := f.Colour.LumaWeights(f.Height())
		noiseGain = kr*kr + kg*kg + kb*kb
	}
	s := f.Signal()
	scale := float64(s.White - s.Black)
	nx, ny := raster.Reduction(f)
	cw, ch := raster.Quarter*nx, raster.Quarter*ny

	type cell struct{ low, high, step int32 }
	cells := make([]cell, width*height)
	for i := range cells {
		cells[i].low = math.MaxInt32
	}
	for y := range height * ch {
		row := plane.Row(y)
		below := plane.Row(min(y+1, plane.Height-1))
		line := cells[y/ch*width:][:width]
		for x := range line {
			c := &line[x]
			from, to := x*cw, min((x+1)*cw, plane.Width-1)
			if from >= to {
				continue
			}
			low, high, step := c.low, c.high, c.step
			v := int32(row[from])
			next := row[from+1 : to+1]
			for i, b := range below[from:to] {
				low, high = min(low, v), max(high, v)
				right := int32(next[i])
				// The larger of a difference and its negative is its absolute value.
				step = max(step, right-v, v-right, int32(b)-v, v-int32(b))
				v = right
			}
			c.low, c.high, c.step = low, high, step
		}
	}
	out := make([]float32, width*height)
	for y := range height {
		for x := range width {
			t := cell{low: math.MaxInt32}
			for v := max(y-1, 0); v <= min(y+1, height-1); v++ {
				for u := max(x-1, 0); u <= min(x+1, width-1); u++ {
					c := cells[v*width+u]
					t.low, t.high, t.step = min(t.low, c.low), max(t.high, c.high), max(t.step, c.step)
				}
			}
			out[y*width+x] = float32(math.NaN())
			swing := float64(t.high - t.low)
			variance, _ := noise.At((float64(t.high+t.low)/2 - float64(s.Black)) / scale)
			if deviation := math.Sqrt(noiseGain*variance*scale*scale + 1.0/12); swing > sharpClear*deviation {
				out[y*width+x] = float32(t.step) / float32(swing)
			}
		}
	}
	return out
}

// nearestAround returns for each place the smallest parallax of the map within reach places
// across and down; +Inf where there is none.
func (m *Map) nearestAround(reach int) []float32 {
	w, h := m.Width, m.Height
	across, out := make([]float32, w*h), make([]float32, w*h)
	for y := range h {
		for x := range w {
			nearest := float32(math.Inf(1))
			for u := max(x-reach, 0); u <= min(x+reach, w-1); u++ {
				if p := m.Parallax[y*w+u]; p < nearest {
					nearest = p
				}
			}
			across[y*w+x] = nearest
		}
	}
	for y := range h {
		for x := range w {
			nearest := float32(math.Inf(1))
			for v := max(y-reach, 0); v <= min(y+reach, h-1); v++ {
				nearest = min(nearest, across[v*w+x])
			}
			out[y*w+x] = nearest
		}
	}
	return out
}
