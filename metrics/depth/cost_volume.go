package depth

import (
	"math"
	"math/bits"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	// stepPenalty is the cost of a step of parallax by one label along a path, jumpPenalty
	// that of any larger one, against a census distance of 0 to 48. At an edge of
	// the picture's brightness jumpPenalty is lowered, down to a third.
	stepPenalty = 6
	jumpPenalty = 36
	// outsideCost is the cost of a place outside the right picture: a little less
	// than that of two unrelated places.
	outsideCost = 20

	// An unambiguous match adds seedPenalty to every label that differs from its own by more
	// than seedTolerance, over the three by three quarter pixels of its patch.
	seedTolerance = 2
	seedPenalty   = 16

	// maxParallax bounds the range of parallax that is searched, as a share of the width,
	// and with it the time that it takes.
	maxParallax = 0.55

	// maxInconsistency is by how many labels the two directions of matching may differ.
	maxInconsistency = 1
	// noParallax stands for the parallax of a place without a winner.
	noParallax = math.MinInt32
)

// costVolume holds how different each place of the left quarter raster is from places of the
// right one on its row.
type costVolume struct {
	width, height int
	near, labels  int     // label k, from 0 to labels−1, is a parallax of near+k quarter pixels
	cost          []uint8 // labels values for each place, row by row
}

// newCostVolume compares the two pictures, of which the right one must be rectified, at each
// parallax from near to far in quarter pixels.
func newCostVolume(left, right *raster.Raster, near, far int) *costVolume {
	v := &costVolume{width: left.Width, height: left.Height, near: near, labels: far - near + 1}
	v.cost = make([]uint8, v.width*v.height*v.labels)
	l, r := raster.NewCensus(left.Padded(raster.CensusRadius)), raster.NewCensus(right.Padded(raster.CensusRadius))
	for y := range v.height {
		at := (y+raster.CensusRadius)*l.Width + raster.CensusRadius
		mine, row := l.Codes[at:][:v.width], r.Codes[at:][:v.width]
		for x, code := range mine {
			dst := v.cost[(y*v.width+x)*v.labels:][:v.labels]
			for k := range dst {
				if at := x + near + k; uint(at) < uint(len(row)) {
					dst[k] = uint8(bits.OnesCount64(code ^ row[at]))
				} else {
					dst[k] = outsideCost
				}
			}
		}
	}
	return v
}

// seed raises the cost of what contradicts an unambiguous match: where texture
// repeats, only such matches tell which period is the right one. Sx is the width of a quarter
// pixel in picture heights.
func (v *costVolume) seed(matches []geometry.Match, sx float64) {
	for i := range matches {
		m := &matches[i]
		if !m.Unambiguous {
			continue
		}
		x, y := m.Column/raster.Quarter, m.Row/raster.Quarter
		label := int(math.Round((m.RightX-m.LeftX)/sx)) - v.near
		for ny := max(y-1, 0); ny <= min(y+1, v.height-1); ny++ {
			for nx := max(x-1, 0); nx <= min(x+1, v.width-1); nx++ {
				cost := v.cost[(ny*v.width+nx)*v.labels:][:v.labels]
				for k := range cost {
					if stat.Abs(k-label) > seedTolerance {
						cost[k] += seedPenalty
					}
				}
			}
		}
	}
}

// aggregate returns, for each place and label, the sum of the minimum costs of the paths that
// reach it from the left, the right, above and below (semi-global matching).
func (v *costVolume) aggregate(picture *raster.Raster) []uint16 {
	sum := make([]uint16, len(v.cost))
	w, h := v.width, v.height
	for y := range h {
		v.path(sum, picture.Pix, y*w, 1, w)
		v.path(sum, picture.Pix, (y+1)*w-1, -1, w)
	}
	for x := range w {
		v.path(sum, picture.Pix, x, w, h)
		v.path(sum, picture.Pix, (h-1)*w+x, -w, h)
	}
	return sum
}

// path adds to sum the minimum costs along one path: so many places from index at on, step
// apart.
func (v *costVolume) path(sum []uint16, picture []float32, at, step, places int) {
	n := v.labels
	// The costs of the last place and of this one, with an expensive label at either end.
	before, now := make([]uint16, n+2), make([]uint16, n+2)
	before[0], before[n+1] = math.MaxUint16/2, math.MaxUint16/2
	now[0], now[n+1] = math.MaxUint16/2, math.MaxUint16/2
	var minCost uint16
	value := picture[at]
	for range places {
		contrast := picture[at] - value
		if contrast < 0 {
			contrast = -contrast
		}
		value = picture[at]
		jump := minCost + uint16(jumpPenalty/(1+min(contrast/16, 2)))
		cost := v.cost[at*n:][:n]
		out := sum[at*n:][:n]
		next, dst := before[2:][:n], now[1:][:n]
		low := uint16(math.MaxUint16)
		last, mid := before[0], before[1]
		for k, c := range cost {
			up := next[k]
			p := min(mid, min(last, up)+stepPenalty, jump) - minCost + uint16(c)
			dst[k] = p
			out[k] += p
			low = min(low, p)
			last, mid = mid, up
		}
		minCost = low
		before, now = now, before
		at += step
	}
}

// winners returns the parallax of minimum cost of each place in quarter pixels, or noParallax
// where the minimum of the right picture at that place leads elsewhere (left–right
// consistency check).
func (v *costVolume) winners(sum []uint16) []int {
	w := v.width
	best := make([]int, w*v.height)
	back := make([]int, w)
	lowest := make([]uint16, w)
	for y := range v.height {
		for x := range lowest {
			lowest[x] = math.MaxUint16
		}
		row := best[y*w:][:w]
		for x := range row {
			minCost := uint16(math.MaxUint16)
			at := x + v.near
			for k, c := range sum[(y*w+x)*v.labels:][:v.labels] {
				if c < minCost {
					minCost, row[x] = c, k
				}
				if uint(at) < uint(len(lowest)) && c < lowest[at] {
					lowest[at], back[at] = c, k
				}
				at++
			}
		}
		for x, k := range row {
			if at := x + k + v.near; at < 0 || at >= w || stat.Abs(back[at]-k) > maxInconsistency {
				row[x] = noParallax
			} else {
				row[x] = k + v.near
			}
		}
	}
	return best
}
