package geometry

import (
	"math"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	outlineRadius = 4
	outlineSide   = 2*outlineRadius + 1
	// coarseCorrelation is the least correlation that is worth refining.
	coarseCorrelation = 0.4
	// coarseMargin is how much less alike than the best candidate another one may
	// be and still be refined.
	coarseMargin = 0.1
	// outlineReach is how many half-size pixels a place may climb from where it
	// was expected.
	outlineReach = 3
)

// coarsePatch is a small patch of the half-size left picture, with its mean taken
// out, to bring a candidate to within about half a pixel.
type coarsePatch struct {
	pix    [outlineSide * outlineSide]float32
	x, y   int
	square float32
}

// take cuts the outline around a pixel. It reports false at the border and
// where there is nothing to see.
func (o *coarsePatch) take(r *raster.Raster, x, y int) bool {
	if x < outlineRadius || y < outlineRadius || x >= r.Width-outlineRadius || y >= r.Height-outlineRadius {
		return false
	}
	o.x, o.y = x, y
	var mean float32
	for j := range outlineSide {
		copy(o.pix[j*outlineSide:], r.Row(y - outlineRadius + j)[x-outlineRadius:][:outlineSide])
	}
	for _, v := range o.pix {
		mean += v
	}
	mean /= float32(len(o.pix))
	o.square = 0
	for i := range o.pix {
		o.pix[i] -= mean
		o.square += o.pix[i] * o.pix[i]
	}
	return o.square > 0
}

// correlate returns the correlation with the patch around a pixel, −1 outside
// the picture.
func (o *coarsePatch) correlate(r *raster.Raster, x, y int) float64 {
	if x < outlineRadius || y < outlineRadius || x >= r.Width-outlineRadius || y >= r.Height-outlineRadius {
		return -1
	}
	base := r.Pix[y*r.Width+x]
	var sum, square, cov float32
	for j := range outlineSide {
		row := r.Row(y - outlineRadius + j)[x-outlineRadius:][:outlineSide]
		p := o.pix[j*outlineSide:][:outlineSide]
		for i, v := range row {
			v -= base
			sum += v
			square += v * v
			cov += v * p[i]
		}
	}
	square -= sum * sum / float32(len(o.pix))
	if square <= 0 {
		return -1
	}
	return float64(cov) / math.Sqrt(float64(square)*float64(o.square))
}

// start is by how many half-size pixels a place is displaced against the
// outline's own, and how much it looks alike, −1 to 1.
type start struct{ dx, dy, alike float64 }

// find climbs from a pixel to the best correlation around.
func (o *coarsePatch) find(r *raster.Raster, x, y int) start {
	var around [3][3]float64
	value := func(i, j int) float64 { return o.correlate(r, x+i-1, y+j-1) }
	for j := range 3 {
		for i := range 3 {
			around[j][i] = value(i, j)
		}
	}
	for step := 0; ; step++ {
		bi, bj := 1, 1
		for j := range 3 {
			for i := range 3 {
				if around[j][i] > around[bj][bi] {
					bi, bj = i, j
				}
			}
		}
		if bi == 1 && bj == 1 {
			break
		}
		if step == outlineReach {
			return start{alike: -1}
		}
		x, y = x+bi-1, y+bj-1
		var next [3][3]float64
		for j := range 3 {
			for i := range 3 {
				if oi, oj := i+bi-1, j+bj-1; oi >= 0 && oi < 3 && oj >= 0 && oj < 3 {
					next[j][i] = around[oj][oi]
				} else {
					next[j][i] = value(i, j)
				}
			}
		}
		around = next
	}
	return start{
		dx:    float64(x-o.x) + stat.Vertex(around[1][0], around[1][1], around[1][2]),
		dy:    float64(y-o.y) + stat.Vertex(around[0][1], around[1][1], around[2][1]),
		alike: around[1][1],
	}
}
