package metrics

import (
	"math"
	"math/bits"
)

// disparity is a dense map of parallax on the quarter raster, found by
// semi-global matching (H. Hirschmüller, "Stereo processing by semiglobal
// matching and mutual information", IEEE TPAMI 30(2), 2008; from memory) along
// the rows that the fitted geometry puts opposite each other.
type disparity struct {
	width, height int
	// parallax is x' − x in pixels of the full raster; NaN where the pictures do
	// not tell: at half-hidden strips, without texture, and at the rim.
	parallax []float32
}

const (
	// Penalties of a step of one label, and of any larger one, against the
	// census distance of at most 48. The large one is lowered where the picture
	// itself has an edge, down to a third.
	stepPenalty = 6
	jumpPenalty = 36

	// consistent is how far, in labels, the two directions may differ.
	consistent = 1
	// speckle is the least area of a patch of its own depth, of the picture's
	// 32,000 quarter pixels: 0.05 %.
	speckle = 16
	// refineRun is how far, in half pixels, the measured place may lie from the
	// winner.
	refineRun = 3
	// standOut is by how many bits a place must be unlike the one half pixel
	// beside it.
	standOut = blockBits / 40
	// standClear is the same in units of what noise may do.
	standClear = 2
)

func newDisparity(left, right *level, g *geometry) *disparity {
	l, q := left.census, left.quarter
	r := levelledCensus(right.census, right.quarter, g)
	w, h := l.width, l.height
	reach := int(searchParallax * float64(w))
	labels := 2*reach + 1
	cost := costVolume(l, r, reach)
	sum := make([]uint16, len(cost))
	for _, d := range [...][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
		aggregate(sum, cost, q, labels, d[0], d[1])
	}
	m := &disparity{width: w, height: h, parallax: make([]float32, w*h)}
	best := winners(sum, w, h, labels)
	m.refine(best, left, right, g, reach)
	m.smooth()
	m.removeSpeckles()
	return m
}

// levelledCensus moves the codes of the right picture to the rows of the left
// picture that they belong to, to the nearest row.
func levelledCensus(c *census, r *raster, g *geometry) *census {
	out := &census{width: c.width, height: c.height, codes: make([]uint64, len(c.codes))}
	for y := range c.height {
		dst := out.codes[y*c.width:][:c.width]
		for x := range dst {
			row := y + int(math.Round(g.dropAt(r, float64(x), float64(y))))
			if row >= 0 && row < c.height {
				dst[x] = c.codes[row*c.width+x]
			}
		}
	}
	return out
}

// dropAt returns by how many pixels of r a place of left height y lies lower in
// the right picture, where it is at column x. The terms that go with parallax
// are left out.
func (g *geometry) dropAt(r *raster, x, y float64) float64 {
	X, Y := r.place(x, y)
	l := &g.line
	// On the right column X the place in line is at column (X + sin·Y)/cos.
	xr := (X + l.sin*Y) / l.cos
	_, yr := l.apply(xr, Y+xr*Y*g.terms[termKeystone]+Y*Y*g.terms[termTilt])
	return (yr - Y) / r.sy
}

// costVolume returns the census distance of each pixel to those of the same row
// from reach to the left to reach to the right.
func costVolume(l, r *census, reach int) []uint8 {
	labels := 2*reach + 1
	cost := make([]uint8, len(l.codes)*labels)
	const unknown = 20 // a little less than two unrelated codes differ by
	for y := range l.height {
		row := r.codes[y*r.width:][:r.width]
		for x := range l.width {
			code := l.codes[y*l.width+x]
			dst := cost[(y*l.width+x)*labels:][:labels]
			first := x - reach
			for k := range dst {
				at := first + k
				if at < censusRadius || at >= r.width-censusRadius {
					dst[k] = unknown
					continue
				}
				dst[k] = uint8(bits.OnesCount64(code ^ row[at]))
			}
		}
	}
	return cost
}

// aggregate adds to sum the least cost of the paths that reach each pixel in
// the direction (dx, dy), one of the two being zero.
func aggregate(sum []uint16, cost []uint8, picture *raster, labels, dx, dy int) {
	w, h := picture.width, picture.height
	// Paths run along rows or columns: line by line, step by step.
	lines, steps := h, w
	if dx == 0 {
		lines, steps = w, h
	}
	before, now := make([]uint16, labels+2), make([]uint16, labels+2)
	for line := range lines {
		var least uint16
		last := float32(0)
		for s := range steps {
			x, y := s, line
			if dx < 0 {
				x = w - 1 - s
			}
			if dx == 0 {
				x, y = line, s
				if dy < 0 {
					y = h - 1 - s
				}
			}
			at := y*w + x
			c := cost[at*labels:][:labels]
			out := sum[at*labels:][:labels]
			value := picture.pix[at]
			if s == 0 {
				least = math.MaxUint16
				for k, v := range c {
					now[k+1] = uint16(v)
					out[k] += uint16(v)
					least = min(least, uint16(v))
				}
			} else {
				contrast := value - last
				if contrast < 0 {
					contrast = -contrast
				}
				jump := least + uint16(jumpPenalty/(1+min(contrast/16, 2)))
				b := before[: labels+2 : labels+2]
				next := uint16(math.MaxUint16)
				for k, v := range c {
					p := min(b[k+1], min(b[k], b[k+2])+stepPenalty, jump) - least + uint16(v)
					now[k+1] = p
					out[k] += p
					next = min(next, p)
				}
				least = next
			}
			now[0], now[labels+1] = math.MaxUint16/2, math.MaxUint16/2
			before, now = now, before
			last = value
		}
	}
}

// winners returns the best label of each left pixel, or −1 where the right
// picture's own best label at that place leads elsewhere.
func winners(sum []uint16, w, h, labels int) []int {
	best := make([]int, w*h)
	back := make([]int, w)
	lowest := make([]uint16, w)
	reach := labels / 2
	for y := range h {
		for x := range lowest {
			lowest[x] = math.MaxUint16
		}
		row := best[y*w:][:w]
		for x := range row {
			costs := sum[(y*w+x)*labels:][:labels]
			least := uint16(math.MaxUint16)
			for k, v := range costs {
				if v < least {
					least, row[x] = v, k
				}
				if at := x + k - reach; at >= 0 && at < w && v < lowest[at] {
					lowest[at], back[at] = v, k
				}
			}
		}
		for x, k := range row {
			at := x + k - reach
			if at < censusRadius || at >= w-censusRadius || x < censusRadius || x >= w-censusRadius || abs(back[at]-k) > consistent {
				row[x] = -1
			}
		}
	}
	return best
}

// refine measures the parallax of the winners on the half-size raster to a
// fraction of a pixel, and drops places that do not stand out along the row.
func (m *disparity) refine(best []int, left, right *level, g *geometry, reach int) {
	l, r := newCensus(left.half), newCensus(right.half)
	var run [2*refineRun + 1]uint16
	for y := range m.height {
		for x := range m.width {
			i := y*m.width + x
			m.parallax[i] = float32(math.NaN())
			hx, hy := 2*x, 2*y
			if best[i] < 0 || !l.inside(hx, hy) {
				continue
			}
			first := hx + 2*(best[i]-reach) - refineRun
			row := hy + int(math.Round(g.dropAt(right.half, float64(first+refineRun), float64(hy))))
			if !r.inside(first, row) || !r.inside(first+len(run)-1, row) {
				continue
			}
			b := l.block(hx, hy)
			r.distances(run[:], &b, first, row)
			k := 1
			for j := 2; j < len(run)-1; j++ {
				if run[j] < run[k] {
					k = j
				}
			}
			before, at, after := float64(run[k-1]), float64(run[k]), float64(run[k+1])
			// The distance grows linearly to both sides, so its lowest point is
			// where two lines of equal slope meet.
			slope := max(before, after) - at
			// Of two places' distances, bits that noise flipped differ by about the
			// root of their number, and the place is uncertain by as much over the
			// slope.
			if at > blockLike || min(before, after) < at || slope < max(standOut, standClear*math.Sqrt(at)) {
				continue
			}
			off := (before - after) / (2 * slope)
			m.parallax[i] = float32(2 * (float64(first+k-hx) + off))
		}
	}
}

// smooth replaces each place by the median of those claimed around it, which
// leaves steps where they are and takes single mistakes out.
func (m *disparity) smooth() {
	out := make([]float32, len(m.parallax))
	for y := range m.height {
		for x := range m.width {
			i := y*m.width + x
			out[i] = m.parallax[i]
			if out[i] != out[i] {
				continue
			}
			var near [9]float32
			n := 0
			for ny := max(y-1, 0); ny <= min(y+1, m.height-1); ny++ {
				for nx := max(x-1, 0); nx <= min(x+1, m.width-1); nx++ {
					v := m.parallax[ny*m.width+nx]
					if v != v {
						continue
					}
					k := n
					for ; k > 0 && near[k-1] > v; k-- {
						near[k] = near[k-1]
					}
					near[k] = v
					n++
				}
			}
			out[i] = (near[n/2] + near[(n-1)/2]) / 2
		}
	}
	m.parallax = out
}

// removeSpeckles drops connected patches too small to be more than chance.
func (m *disparity) removeSpeckles() {
	const together = 2 * quarter // pixels of parallax from one place to the next
	seen := make([]bool, len(m.parallax))
	var patch []int
	for start, p := range m.parallax {
		if seen[start] || p != p {
			continue
		}
		patch = append(patch[:0], start)
		seen[start] = true
		for n := 0; n < len(patch); n++ {
			i := patch[n]
			x, y := i%m.width, i/m.width
			for _, d := range [...][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
				nx, ny := x+d[0], y+d[1]
				if nx < 0 || ny < 0 || nx >= m.width || ny >= m.height {
					continue
				}
				j := ny*m.width + nx
				if q := m.parallax[j]; !seen[j] && q == q && math.Abs(float64(q-m.parallax[i])) < together {
					seen[j] = true
					patch = append(patch, j)
				}
			}
		}
		if len(patch) < speckle {
			for _, i := range patch {
				m.parallax[i] = float32(math.NaN())
			}
		}
	}
}

// claimed returns the parallax of all places that have one, in pixels of the
// full raster.
func (m *disparity) claimed() []float64 {
	var out []float64
	for _, p := range m.parallax {
		if p == p {
			out = append(out, float64(p))
		}
	}
	return out
}
