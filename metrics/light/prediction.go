package light

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
)

// maxParallaxTried is how many parallaxes, in pixels of the quarter raster, are tried where
// the dense map has none.
const maxParallaxTried = 24

// prediction is what the right eye should show of each cell of the left eye, brought to
// the right eye's exposure by the balance.
type prediction struct {
	lights    *Overlap
	geometry  *geometry.Fit
	right     *raster.Raster
	from      *Cells       // the right eye's own
	ceiling   float32      // of the right eye
	clipped   []bool       // where that is reached
	plain     [3][]float32 // by channel: the signal of the cell itself
	low, high [][3]float32 // the range of the signals of the 3×3 cells around it
}

// predict fills in the signals from the left eye's cells.
func (c *prediction) predict(left *Cells, b *Balance) {
	w, h := left.Width, left.height
	for ch := range 3 {
		e := NewExposureCurve(b.Transfer, b.Stops[ch])
		lift := b.lift[ch]
		plane := make([]float32, w*h)
		for i, v := range left.Signal[ch] {
			plane[i] = float32(min(e.Apply(float64(v))+lift, 1))
		}
		c.plain[ch] = plane
		// The extremes of 3×3 cells, by rows and then by columns.
		low, high := make([]float32, w*h), make([]float32, w*h)
		for y := range h {
			for x := range w {
				i := y*w + x
				a, b := plane[y*w+max(x-1, 0)], plane[y*w+min(x+1, w-1)]
				low[i], high[i] = min(a, plane[i], b), max(a, plane[i], b)
			}
		}
		for y := range h {
			up, down := max(y-1, 0)*w, min(y+1, h-1)*w
			for x := range w {
				i := y*w + x
				c.low[i][ch] = min(low[up+x], low[i], low[down+x])
				c.high[i][ch] = max(high[up+x], high[i], high[down+x])
			}
		}
	}
}

// row sets dst to the excess of a row of cells and returns how many could be compared.
func (c *prediction) row(dst []float32, y int) (compared int) {
	l := c.lights
	w := l.Width
	nan := float32(math.NaN())
	known := l.Known[y*w:][:w]
	at := l.Parallax[y*w:][:w]
	for x := 0; x < w; {
		if known[x] {
			dst[x], c.clipped[y*w+x] = c.at(x, y, float64(at[x]))
			compared++
			x++
			continue
		}
		end := x
		for end < w && !known[end] {
			end++
		}
		// Of a run without parallax, what lies just left of something nearer is hidden
		// from the right eye. The rest is compared at the parallaxes between its ends.
		from, to := x, end
		var near, far float64
		switch {
		case x == 0 && end == w:
			for ; x < w; x++ {
				dst[x] = nan
			}
			continue
		case x == 0:
			near, far = float64(at[end]), float64(at[end])
		case end == w:
			near, far = float64(at[x-1]), float64(at[x-1])
		default:
			before, after := float64(at[x-1]), float64(at[end])
			near, far = min(before, after), max(before, after)
			if after < before {
				to = max(x, end-int(before-after)-3)
			}
		}
		for ; x < end; x++ {
			dst[x] = nan
			if x < from || x >= to || far-near > maxParallaxTried {
				continue
			}
			best := nan
			for p := near - 1; p <= far+1; p++ {
				if v, clipped := c.at(x, y, p); best != best || v == v && abs32(v) < abs32(best) {
					best, c.clipped[y*w+x] = v, clipped
				}
			}
			if dst[x] = best; best == best {
				compared++
			}
		}
	}
	return compared
}

func abs32(v float32) float32 { return max(v, -v) }

// at returns the excess at a parallax in pixels of the quarter raster, NaN outside the
// right picture, and whether the right eye clips there.
func (c *prediction) at(x, y int, parallax float64) (excess float32, clipped bool) {
	l := c.lights
	i := y*l.Width + x
	rx := float64(x) + parallax
	ry := float64(y) + c.geometry.DisplacementAt(c.right, rx, float64(y))
	col, row := int(math.Round(rx)), int(math.Round(ry))
	if col < 1 || row < 1 || col >= l.Width-1 || row >= l.Height-1 {
		return float32(math.NaN()), false
	}
	j := row*l.Width + col
	if c.from.Peak[j] > Brightest && max(c.high[i][0], c.high[i][1], c.high[i][2]) > Brightest {
		return 0, false // both clip, or nearly
	}
	largest := float32(0)
	for ch, plane := range c.from.Signal {
		v := plane[j]
		v -= min(max(v, c.low[i][ch]), c.high[i][ch])
		if abs32(v) > abs32(largest) {
			largest = v
		}
	}
	return largest, c.from.Peak[j] > c.ceiling-ceilingMargin
}

// explain clears cells whose light agrees at the parallax of something else near them in
// the picture: between thin things, the dense map often has the parallax of the things
// instead of that of the gap.
func (c *prediction) explain(m *Rivalry) {
	const across, down = 12, 2 // cells
	l := c.lights
	w, h := l.Width, l.Height
	var others []float64
	for y := range h {
		for x := range w {
			i := y*w + x
			if !l.Known[i] || !m.suspect(i) {
				continue
			}
			others = others[:0]
			for v := max(y-down, 0); v <= min(y+down, h-1); v += down {
				for u := max(x-across, 0); u <= min(x+across, w-1); u++ {
					if at := float64(l.Parallax[v*w+u]); l.Known[v*w+u] && apart(at, float64(l.Parallax[i]), others) {
						others = append(others, at)
					}
				}
			}
			for _, at := range others {
				if c.difference(x, y, at) < rivalrySignal {
					m.excess[i] = 0
					for ch := range m.direct {
						m.direct[ch][i] = float32(math.NaN())
					}
					break
				}
			}
		}
	}
}

// difference returns the mean over a cell and those above and below it of the largest
// difference of a channel's signal at a parallax, interpolated; +Inf outside the picture.
func (c *prediction) difference(x, y int, parallax float64) float32 {
	l := c.lights
	var sum, n float32
	for v := max(y-1, 0); v <= min(y+1, l.Height-1); v++ {
		rx := float64(x) + parallax
		row := int(math.Round(float64(v) + c.geometry.DisplacementAt(c.right, rx, float64(v))))
		col := int(math.Floor(rx))
		if col < 0 || row < 0 || col+1 >= l.Width || row >= l.Height {
			continue
		}
		k, j := float32(rx-float64(col)), row*l.Width+col
		largest := float32(0)
		for ch, plane := range c.from.Signal {
			largest = max(largest, abs32(plane[j]+k*(plane[j+1]-plane[j])-c.plain[ch][v*l.Width+x]))
		}
		sum, n = sum+largest, n+1
	}
	if n == 0 {
		return float32(math.Inf(1))
	}
	return sum / n
}
