package light

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
)

const (
	// rivalrySignal is by how much of full scale the signals of a place must differ
	// in one channel, beyond what its surroundings explain, to count. The
	// project's own choice: seven code values of 8 bits, a fifth of a stop in the
	// middle of the scale.
	rivalrySignal = 0.03
	// rivalryCrowd is how many of the nine cells about a place must differ, so that
	// glints and edges do not count.
	rivalryCrowd = 6
	// minRivalryPatch is the smallest patch that counts, as a share of the picture.
	minRivalryPatch = 0.0008
	// rivalryJudged is the least share of the picture that must be open to
	// comparison.
	rivalryJudged = 0.2
	// rivalryReach is how many parallaxes are tried where the dense map has none.
	rivalryReach = 24
)

// Rivalry is where the eyes differ in light though not in shape, on the quarter
// raster of the left picture.
type Rivalry struct {
	Width, Height int
	// rest is what the right eye's signal is above what the left one's and its
	// surroundings predict, in the channel where that is most; 0 where they agree
	// and NaN where they cannot be compared.
	rest []float32
	// whole is the same without regard to the surroundings, for each channel, of
	// the places whose parallax was found; NaN elsewhere.
	whole          [3][]float32
	Patch          []bool // the places that count
	Share, ShareSE float64
	// LeftCut and RightCut are the shares of the picture where an eye stops at its
	// ceiling though the other goes on.
	LeftCut, RightCut float64
}

// View is what the light of both eyes is compared in.
type View struct {
	Lights                    *Overlap
	LeftCells, RightCells     *Cells
	Geometry                  *geometry.Fit
	Right                     *raster.Raster // the quarter one
	LeftTop, RightTop         float32        // signals at which the eyes are cut off
	LeftLetters, RightLetters *Lettering
}

// FindRivalry compares the light of both eyes by a balance of it, or says why it can't.
func (v *View) FindRivalry(balance *Balance) (*Rivalry, string) {
	l, leftTop, rightTop := v.Lights, v.LeftTop, v.RightTop
	w, h := l.Width, l.Height
	c := comparison{
		lights: l, geometry: v.Geometry, right: v.Right,
		from: v.RightCells, low: make([][3]float32, w*h), high: make([][3]float32, w*h),
	}
	c.cut, c.ceiling = make([]bool, w*h), rightTop
	c.predict(v.LeftCells, balance)
	m := &Rivalry{Width: w, Height: h, rest: make([]float32, w*h)}
	for ch := range m.whole {
		m.whole[ch] = make([]float32, w*h)
		for i := range m.whole[ch] {
			m.whole[ch][i] = l.Right.Signal[ch][i] - c.plain[ch][i]
			if !l.onSurface(i%w, i/w) || max(l.Left.Peak[i], l.Right.Peak[i]) > Brightest {
				m.whole[ch][i] = float32(math.NaN())
			}
		}
	}
	judged := 0
	for y := range h {
		judged += c.row(m.rest[y*w:][:w], y)
	}
	if float64(judged) < rivalryJudged*float64(w*h) {
		return nil, "too little of the picture can be compared"
	}
	c.explain(m)
	// What is written on one eye, and where one is cut off early, are faults of
	// their own.
	left, right := v.LeftLetters, v.RightLetters
	leftCut, rightCut := 0, 0
	for i, rest := range m.rest {
		x, y := i%w, i/w
		switch {
		case left.covers(raster.Quarter*x, raster.Quarter*y) || right.covers(raster.Quarter*(x+int(math.Round(float64(l.At[i])))), raster.Quarter*y):
		case v.LeftCells.Peak[i] > leftTop-clipNear:
			if rest > clipMissed {
				leftCut++
			}
		case l.Right.Peak[i] > rightTop-clipNear || c.cut[i]:
			if rest < -clipMissed {
				rightCut++
			}
		default:
			continue
		}
		m.rest[i] = 0
		for ch := range m.whole {
			m.whole[ch][i] = float32(math.NaN())
		}
	}
	m.LeftCut, m.RightCut = float64(leftCut)/float64(w*h), float64(rightCut)/float64(w*h)
	patch, share := m.patches(rivalrySignal)
	_, more := m.patches(rivalrySignal * 0.8)
	_, less := m.patches(rivalrySignal * 1.2)
	m.Patch, m.Share, m.ShareSE = patch, share, (more-less)/2
	return m, ""
}

// comparison holds what the right eye should show of each cell: the range of
// signals that the left eye shows of it and of the cells around it, brought to the
// right eye's exposure.
type comparison struct {
	lights    *Overlap
	geometry  *geometry.Fit
	right     *raster.Raster
	from      *Cells  // the right eye's own
	ceiling   float32 // of the right eye
	cut       []bool  // where that is reached
	plain     [3][]float32
	low, high [][3]float32
}

func (c *comparison) predict(left *Cells, b *Balance) {
	w, h := left.Width, left.height
	for ch := range 3 {
		e := ExposedBy(b.Transfer, b.Stops[ch])
		lift := b.lift[ch]
		plane := make([]float32, w*h)
		for i, v := range left.Signal[ch] {
			plane[i] = float32(min(e.Of(float64(v))+lift, 1))
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

// row compares a row of cells and returns how many could be compared.
func (c *comparison) row(dst []float32, y int) (judged int) {
	l := c.lights
	w := l.Width
	nan := float32(math.NaN())
	known := l.Known[y*w:][:w]
	at := l.At[y*w:][:w]
	for x := 0; x < w; {
		if known[x] {
			dst[x], c.cut[y*w+x] = c.at(x, y, float64(at[x]))
			judged++
			x++
			continue
		}
		end := x
		for end < w && !known[end] {
			end++
		}
		// Of a stretch without parallax, what lies just left of something nearer is
		// hidden from the right eye.
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
			if x < from || x >= to || far-near > rivalryReach {
				continue
			}
			best := nan
			for p := near - 1; p <= far+1; p++ {
				if v, cut := c.at(x, y, p); best != best || v == v && abs32(v) < abs32(best) {
					best, c.cut[y*w+x] = v, cut
				}
			}
			if dst[x] = best; best == best {
				judged++
			}
		}
	}
	return judged
}

func abs32(v float32) float32 { return max(v, -v) }

// at returns by how much the right eye's light differs at a parallax, NaN outside
// its picture, and whether it is cut off there.
func (c *comparison) at(x, y int, parallax float64) (rest float32, cut bool) {
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
	most := float32(0)
	for ch, plane := range c.from.Signal {
		v := plane[j]
		v -= min(max(v, c.low[i][ch]), c.high[i][ch])
		if abs32(v) > abs32(most) {
			most = v
		}
	}
	return most, c.from.Peak[j] > c.ceiling-clipNear
}

// explain clears places that differ in light only at the parallax found for them, which
// in the gaps between thin things is that of these: seen at the parallax of something
// else that is near in the picture they do not.
func (c *comparison) explain(m *Rivalry) {
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
					if at := float64(l.At[v*w+u]); l.Known[v*w+u] && apart(at, float64(l.At[i]), others) {
						others = append(others, at)
					}
				}
			}
			for _, at := range others {
				if c.off(x, y, at) < rivalrySignal {
					m.rest[i] = 0
					for ch := range m.whole {
						m.whole[ch][i] = float32(math.NaN())
					}
					break
				}
			}
		}
	}
}

// off returns by how much the right eye's light differs at a parallax, on the mean over
// a place and those above and below, with no regard to what is around them.
func (c *comparison) off(x, y int, parallax float64) float32 {
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
		most := float32(0)
		for ch, plane := range c.from.Signal {
			most = max(most, abs32(plane[j]+k*(plane[j+1]-plane[j])-c.plain[ch][v*l.Width+x]))
		}
		sum, n = sum+most, n+1
	}
	if n == 0 {
		return float32(math.Inf(1))
	}
	return sum / n
}

// suspect reports whether a place differs in light at its parallax.
func (m *Rivalry) suspect(i int) bool {
	if abs32(m.rest[i]) > rivalrySignal/2 {
		return true
	}
	for ch := range m.whole {
		if abs32(m.whole[ch][i]) > rivalrySignal/2 {
			return true
		}
	}
	return false
}

// apart reports whether a parallax is another than that of a place and than others, by
// more than what neighbours on one surface differ by.
func apart(at, own float64, others []float64) bool {
	if math.Abs(at-own) <= surfaceApart {
		return false
	}
	for _, v := range others {
		if math.Abs(at-v) <= surfaceApart {
			return false
		}
	}
	return true
}

// patches returns the places that differ by more than a threshold in a crowd, and
// their share of the picture.
func (m *Rivalry) patches(threshold float32) (patch []bool, share float64) {
	w, h := m.Width, m.Height
	flag := make([]uint8, w*h)
	for i, v := range m.rest {
		if v > threshold || v < -threshold {
			flag[i] = 1
		}
	}
	m.flagWhole(flag, threshold)
	core := make([]bool, w*h)
	for y := 1; y < h-1; y++ {
		up, mid, down := flag[(y-1)*w:][:w], flag[y*w:][:w], flag[(y+1)*w:][:w]
		for x := 1; x < w-1; x++ {
			n := up[x-1] + up[x] + up[x+1] + mid[x-1] + mid[x] + mid[x+1] + down[x-1] + down[x] + down[x+1]
			core[y*w+x] = n >= rivalryCrowd
		}
	}
	// The patch is what differs in and around its core.
	patch = make([]bool, w*h)
	for y := 1; y < h-1; y++ {
		for x := 1; x < w-1; x++ {
			if !core[y*w+x] {
				continue
			}
			for j := -1; j <= 1; j++ {
				for i := -1; i <= 1; i++ {
					at := (y+j)*w + x + i
					patch[at] = patch[at] || flag[at] == 1
				}
			}
		}
	}
	total := 0
	for _, cells := range regions(patch, w) {
		if float64(len(cells)) < minRivalryPatch*float64(w*h) || !compact(patch, w, cells) {
			for _, i := range cells {
				patch[i] = false
			}
			continue
		}
		total += len(cells)
	}
	return patch, float64(total) / float64(w*h)
}

// compact reports whether a part of a mask nearly fills a square of five cells
// somewhere: errors of parallax make stripes along edges and posts.
func compact(mask []bool, width int, part []int) bool {
	const reach, least = 2, 21
	height := len(mask) / width
	for _, i := range part {
		x, y := i%width, i/width
		if x < reach || y < reach || x >= width-reach || y >= height-reach {
			continue
		}
		n := 0
		for j := y - reach; j <= y+reach; j++ {
			for k := x - reach; k <= x+reach; k++ {
				if mask[j*width+k] {
					n++
				}
			}
		}
		if n >= least {
			return true
		}
	}
	return false
}

// flagWhole flags places around which the light differs on the mean: what is not
// quite in place averages out. No place counts for more than wholeMost thresholds,
// so that a column beside an edge, which is hidden from the other eye, does not speak
// for those about it.
func (m *Rivalry) flagWhole(flag []uint8, threshold float32) {
	const reach, least, wholeMost = 2, 15, 3
	w, h := m.Width, m.Height
	for _, rest := range m.whole {
		// Sums over the picture's top left part.
		sum, count := make([]float32, (w+1)*(h+1)), make([]int32, (w+1)*(h+1))
		for y := range h {
			var s float32
			var n int32
			for x := range w {
				if v := rest[y*w+x]; v == v {
					s += min(max(v, -wholeMost*threshold), wholeMost*threshold)
					n++
				}
				at := (y+1)*(w+1) + x + 1
				sum[at], count[at] = sum[at-w-1]+s, count[at-w-1]+n
			}
		}
		for y := range h {
			top, bottom := max(y-reach, 0)*(w+1), min(y+reach+1, h)*(w+1)
			for x := range w {
				left, right := max(x-reach, 0), min(x+reach+1, w)
				n := count[bottom+right] - count[bottom+left] - count[top+right] + count[top+left]
				if n < least || rest[y*w+x] != rest[y*w+x] {
					continue
				}
				s := sum[bottom+right] - sum[bottom+left] - sum[top+right] + sum[top+left]
				if abs32(s) > threshold*float32(n) {
					flag[y*w+x] = 1
				}
			}
		}
	}
}

// regions lists the connected parts of a mask, as indices into it.
func regions(mask []bool, width int) (parts [][]int) {
	seen := make([]bool, len(mask))
	for start, set := range mask {
		if !set || seen[start] {
			continue
		}
		part := []int{start}
		seen[start] = true
		for n := 0; n < len(part); n++ {
			i := part[n]
			x := i % width
			for _, j := range [...]int{i - 1, i + 1, i - width, i + width} {
				if j < 0 || j >= len(mask) || j == i-1 && x == 0 || j == i+1 && x == width-1 {
					continue
				}
				if mask[j] && !seen[j] {
					seen[j] = true
					part = append(part, j)
				}
			}
		}
		parts = append(parts, part)
	}
	return parts
}
