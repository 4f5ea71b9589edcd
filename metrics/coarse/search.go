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
			a, b := sums.around(x, y, r), squares.around(x, y, r)
			p.mean[y*w+x] = float32(a / n)
			p.energy[y*w+x] = float32(max(b-a*a/n, 0))
		}
	}
	return p
}

// search looks for places in the half-size pictures of both eyes.
type search struct {
	left, right         sheet
	leftSums, rightSums patchSums
}

// find returns where the right picture shows the patch about (x, y) of the left one best, up to
// so many rows above and below y+down and from x+near to x+far; false where nothing fits
// clearly.
func (s *search) find(x, y, down, near, far, rows int) (rx, ry int, ok bool) {
	const r = searchRadius
	left, right := s.left, s.right
	w, h := left.width, left.height
	if x < r || y < r || x >= w-r || y >= h-r {
		return 0, 0, false
	}
	var patch [searchSide * searchSide]float32
	mean := s.leftSums.mean[y*w+x]
	for j := range searchSide {
		for i, v := range left.pix[(y-r+j)*w+x-r:][:searchSide] {
			patch[j*searchSide+i] = v - mean
		}
	}
	energy := s.leftSums.energy[y*w+x]
	best, row := float32(minSearch), -1
	var byRow [2*wideRows + 1]float32
	for k := range 2*rows + 1 {
		v := y + down + k - rows
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
			c := sum / float32(math.Sqrt(float64(energy*s.rightSums.energy[v*w+u])+1e-6))
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
