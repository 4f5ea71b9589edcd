package light

const (
	// minNeighbours is how many of the 3×3 cells around one must differ, so that glints
	// and edges do not count.
	minNeighbours = 6
	// minRivalryPatch is the smallest patch that counts, as a share of the picture.
	minRivalryPatch = 0.0008
)

// patches returns the cells that count at a threshold of the signal, and their share of
// the picture: those that differ together with their neighbours, in compact patches.
func (m *Rivalry) patches(threshold float32) (patch []bool, share float64) {
	w, h := m.Width, m.Height
	flag := make([]uint8, w*h)
	for i, v := range m.excess {
		if v > threshold || v < -threshold {
			flag[i] = 1
		}
	}
	m.flagMeans(flag, threshold)
	core := make([]bool, w*h)
	for y := 1; y < h-1; y++ {
		up, mid, down := flag[(y-1)*w:][:w], flag[y*w:][:w], flag[(y+1)*w:][:w]
		for x := 1; x < w-1; x++ {
			n := up[x-1] + up[x] + up[x+1] + mid[x-1] + mid[x] + mid[x+1] + down[x-1] + down[x] + down[x+1]
			core[y*w+x] = n >= minNeighbours
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

// compact reports whether a region of a mask nearly fills a square of 5×5 cells somewhere.
// Errors of parallax make stripes along edges and posts, which do not.
func compact(mask []bool, width int, part []int) bool {
	const reach, minFilled = 2, 21
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
		if n >= minFilled {
			return true
		}
	}
	return false
}

// flagMeans flags cells around which the mean of direct over 5×5 cells exceeds a
// threshold: what is slightly out of place averages out. Each cell is clamped to
// maxShare thresholds, so that a column beside an edge, which the other eye does not see,
// does not outweigh the others. Means come from a summed-area table (F. Crow,
// "Summed-area tables for texture mapping", SIGGRAPH 1984; from memory).
func (m *Rivalry) flagMeans(flag []uint8, threshold float32) {
	const reach, minKnown, maxShare = 2, 15, 3
	w, h := m.Width, m.Height
	for _, direct := range m.direct {
		sum, count := make([]float32, (w+1)*(h+1)), make([]int32, (w+1)*(h+1))
		for y := range h {
			var s float32
			var n int32
			for x := range w {
				if v := direct[y*w+x]; v == v {
					s += min(max(v, -maxShare*threshold), maxShare*threshold)
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
				if n < minKnown || direct[y*w+x] != direct[y*w+x] {
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
