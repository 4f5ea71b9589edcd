package geometry

import (
	"math"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	coarseRadius = 4
	coarseSide   = 2*coarseRadius + 1
	// coarseCorrelation is the smallest correlation that is worth refining.
	coarseCorrelation = 0.4
	// coarseMargin is how much less correlated than the best candidate another one may
	// be and still be refined.
	coarseMargin = 0.1
	// coarseReach is how many half pixels a place may climb from where it was expected.
	coarseReach = 3
)

// coarsePatch is a small patch of the left half raster less its mean. It takes a candidate to
// within about half a pixel of the place.
type coarsePatch struct {
	pix    [coarseSide * coarseSide]float32
	x, y   int     // its centre, in half pixels
	square float32 // sum of the squares of pix
}

// load copies the patch around a pixel. It reports false at the border and where there is no
// contrast.
func (p *coarsePatch) load(r *raster.Raster, x, y int) bool {
	if x < coarseRadius || y < coarseRadius || x >= r.Width-coarseRadius || y >= r.Height-coarseRadius {
		return false
	}
	p.x, p.y = x, y
	var mean float32
	for j := range coarseSide {
		copy(p.pix[j*coarseSide:], r.Row(y - coarseRadius + j)[x-coarseRadius:][:coarseSide])
	}
	for _, v := range p.pix {
		mean += v
	}
	mean /= float32(len(p.pix))
	p.square = 0
	for i := range p.pix {
		p.pix[i] -= mean
		p.square += p.pix[i] * p.pix[i]
	}
	return p.square > 0
}

// correlate returns the correlation with the patch around a pixel, −1 to 1; −1 also outside
// the picture and without contrast.
func (p *coarsePatch) correlate(r *raster.Raster, x, y int) float64 {
	if x < coarseRadius || y < coarseRadius || x >= r.Width-coarseRadius || y >= r.Height-coarseRadius {
		return -1
	}
	base := r.Pix[y*r.Width+x]
	var sum, square, cov float32
	for j := range coarseSide {
		row := r.Row(y - coarseRadius + j)[x-coarseRadius:][:coarseSide]
		own := p.pix[j*coarseSide:][:coarseSide]
		for i, v := range row {
			v -= base
			sum += v
			square += v * v
			cov += v * own[i]
		}
	}
	square -= sum * sum / float32(len(p.pix))
	if square <= 0 {
		return -1
	}
	return float64(cov) / math.Sqrt(float64(square)*float64(p.square))
}

// coarseMatch is by how many half pixels a place is displaced against the patch's own, and
// the correlation there, −1 to 1.
type coarseMatch struct{ dx, dy, correlation float64 }

// climb goes from a pixel uphill to a local maximum of the correlation, which is −1 where that
// is farther away than coarseReach.
func (p *coarsePatch) climb(r *raster.Raster, x, y int) coarseMatch {
	var around [3][3]float64
	value := func(i, j int) float64 { return p.correlate(r, x+i-1, y+j-1) }
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
		if step == coarseReach {
			return coarseMatch{correlation: -1}
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
	return coarseMatch{
		dx:          float64(x-p.x) + stat.ParabolaPeak(around[1][0], around[1][1], around[1][2]),
		dy:          float64(y-p.y) + stat.ParabolaPeak(around[0][1], around[1][1], around[2][1]),
		correlation: around[1][1],
	}
}
