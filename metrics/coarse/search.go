package coarse

import "math"

const (
	// searchRadius is that of the patches that are searched for at half the size.
	searchRadius = 3
	searchSide   = 2*searchRadius + 1
	// searchRows is how many half-size rows above and below the expected one are
	// searched: three per cent of the picture height either way. wideRows is how many are
	// where these show nothing.
	searchRows = 2
	wideRows   = 8
	// minSearch is the least correlation of a place that was found.
	minSearch = 0.6
	// searchRival is how much better than a place two rows away the best one must be.
	searchRival = 0.02
)

// patchSums are the mean and the energy about it of the patches about each pixel.
type patchSums struct {
	mean, energy []float32
}

func (s sheet) patchSums() patchSums {
	w, h := s.width, s.height
	sums, squares := newTable(w, h), newTable(w, h)
	for y := range h {
		for x := range w {
			v := s.pix[y*w+x]
			sums.put(x, y, v)
			squares.put(x, y, v*v)
		}
	}
	sums.add()
	squares.add()
	p := patchSums{make([]float32, w*h), make([]float32, w*h)}
	const r, n = searchRadius, searchSide * searchSide
	for y := r; y < h-r; y++ {
		for x := r; x < w-r; x++ {
			top, bottom := (y-r)*sums.width, (y+r+1)*sums.width
			a := sums.sum[bottom+x+r+1] - sums.sum[bottom+x-r] - sums.sum[top+x+r+1] + sums.sum[top+x-r]
			b := squares.sum[bottom+x+r+1] - squares.sum[bottom+x-r] - squares.sum[top+x+r+1] + squares.sum[top+x-r]
			p.mean[y*w+x] = float32(a / n)
			p.energy[y*w+x] = float32(max(b-a*a/n, 0))
		}
	}
	return p
}

// find returns where the right half-size picture shows the patch about (x, y) of the left
// one best, along so many rows about y+down either way and from x+near to x+far; false where nothing fits
// clearly.
func find(left, right sheet, leftSums, rightSums patchSums, x, y, down, near, far, reach int) (rx, ry int, ok bool) {
	const r = searchRadius
	w, h := left.width, left.height
	if x < r || y < r || x >= w-r || y >= h-r {
		return 0, 0, false
	}
	var patch [searchSide * searchSide]float32
	mean := leftSums.mean[y*w+x]
	for j := range searchSide {
		for i, v := range left.pix[(y-r+j)*w+x-r:][:searchSide] {
			patch[j*searchSide+i] = v - mean
		}
	}
	energy := leftSums.energy[y*w+x]
	best, row := float32(minSearch), -1
	var byRow [2*wideRows + 1]float32
	for k := range 2*reach + 1 {
		v := y + down + k - reach
		if v < r || v >= h-r {
			continue
		}
		for u := max(x+near, r); u <= min(x+far, w-1-r); u++ {
			var sum float32
			for j := range searchSide {
				p, q := patch[j*searchSide:][:searchSide], right.pix[(v-r+j)*w+u-r:][:searchSide]
				sum += p[0]*q[0] + p[1]*q[1] + p[2]*q[2] + p[3]*q[3] + p[4]*q[4] + p[5]*q[5] + p[6]*q[6]
			}
			if sum <= 0 {
				continue
			}
			c := sum / float32(math.Sqrt(float64(energy*rightSums.energy[v*w+u])+1e-6))
			byRow[k] = max(byRow[k], c)
			if c > best {
				best, rx, ry, row = c, u, v, k
			}
		}
	}
	if row < 0 {
		return 0, 0, false
	}
	for k, c := range byRow {
		if (k > row+1 || k < row-1) && c > best-searchRival {
			return 0, 0, false
		}
	}
	return rx, ry, true
}
