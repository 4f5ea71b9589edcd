package depth

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
)

const (
	// minStrip and maxStrip bound the width of a strip in pixels of the full raster:
	// enough to have a colour of its own, and not so much that it is something else.
	minStrip = 3
	maxStrip = 64
	// stripGap is how many quarter pixels without parallax may lie between the
	// sides, in addition to the strip.
	stripGap = 4
	// stripSide is how many pixels of either side are compared with the strip.
	stripSide = 6
	// stripMargin is by how much more the strip must differ from one side than from the
	// other, in 8-bit code values over all planes.
	stripMargin = 4
	// maxDifference is the largest difference of two pixels that counts, likewise.
	maxDifference = 40
	// stripTile is the side, in quarter pixels, of the tiles that count as one place: the
	// rows of one edge are one piece of evidence.
	stripTile = 12
)

// strips looks for the strips that one eye alone sees.
type strips struct {
	depth       *Map
	g           *geometry.Fit
	left, right Channels
	raster      *raster.Raster
}

// count goes along the rows from one step of parallax to the next. Where parallax falls from left
// to right, the left eye sees a strip that the right eye does not; where it rises, the
// right eye does.
func (s *strips) count() (o Ownership) {
	m := s.depth
	columns := m.Width/stripTile + 1
	votes := make([]int, columns*(m.Height/stripTile+1))
	for y := 1; y < m.Height-1; y++ {
		row := m.Parallax[y*m.Width:][:m.Width]
		last := -1
		for x, p := range row {
			if p != p {
				continue
			}
			if last >= 0 {
				before, after := float64(row[last]), float64(p)
				step := math.Abs(before - after)
				if step >= minStrip && step <= maxStrip && float64(raster.Quarter*(x-last)) < step+raster.Quarter*stripGap {
					votes[y/stripTile*columns+x/stripTile] += s.vote(raster.Quarter*last+1, raster.Quarter*x+1, raster.Quarter*y+1, before, after)
				}
			}
			last = x
		}
	}
	for _, v := range votes {
		switch {
		case v > 0:
			o.Behind++
		case v < 0:
			o.Before++
		}
	}
	return o
}

// vote judges one row of a step of parallax between columns a and b of the left full raster,
// where parallax is pa and pb. It returns 1 where the strip that one eye sees looks like what is
// farther away, −1 where it looks like what is nearer, and 0 where that is not clear.
func (s *strips) vote(a, b, y int, pa, pb float64) int {
	down := func(x float64) int { return int(math.Round(s.g.DisplacementAt(s.raster, x, float64(y)))) }
	if pa > pb {
		to := func(x int, p float64) (int, int) {
			rx := float64(x) + p
			return int(math.Round(rx)), y + down(rx)
		}
		return s.closerSide(s.left, s.right, a, b, y, pa, pb, int(math.Round(pa-pb)), to)
	}
	ra, rb := int(math.Round(float64(a)+pa)), int(math.Round(float64(b)+pb))
	to := func(x int, p float64) (int, int) { return int(math.Round(float64(x) - p)), y }
	return -s.closerSide(s.right, s.left, ra, rb, y+down(float64(ra+rb)/2), pa, pb, int(math.Round(pb-pa)), to)
}

// closerSide returns which surface a strip of the given width looks like in the eye that alone
// sees it: 1 for that of column a, −1 for that of column b, 0 for neither. Function to takes a
// column of that eye's picture, at a parallax, to the place where the other picture shows it.
func (s *strips) closerSide(own, other Channels, a, b, y int, pa, pb float64, width int, to func(x int, p float64) (int, int)) int {
	w, h := s.raster.Width, s.raster.Height
	// The strip begins where a's surface stops matching the other picture and ends
	// where b's surface starts to.
	from, last := a-raster.Quarter, b+raster.Quarter+1-width
	if last < from || from-stripSide < 0 || last+width+stripSide >= w || y < 1 || y >= h-1 {
		return 0
	}
	difference := func(x int, p float64) float64 {
		ox, oy := to(x, p)
		if ox < 0 || ox >= w || oy < 0 || oy >= h {
			return maxDifference / 2
		}
		var sum float64
		for c := range own {
			sum += math.Abs(float64(own[c][y*w+x] - other[c][oy*w+ox]))
		}
		return min(sum, maxDifference)
	}
	// If the strip begins at e, columns before e belong to a, those from e+width on to b.
	var onA, onB float64
	for x := from + width; x <= last+width; x++ {
		onB += difference(x, pb)
	}
	minCost, start := math.Inf(1), from
	for e := from; e <= last; e++ {
		if onA+onB < minCost {
			minCost, start = onA+onB, e
		}
		onA += difference(e, pa)
		onB -= difference(e+width, pb)
	}
	strip := own.mean(start, width, y, w)
	sideA, sideB := own.mean(start-stripSide, stripSide, y, w), own.mean(start+width, stripSide, y, w)
	var da, db float64
	for c := range strip {
		da += math.Abs(strip[c] - sideA[c])
		db += math.Abs(strip[c] - sideB[c])
	}
	switch {
	case db-da > stripMargin && db > 2*da:
		return 1
	case da-db > stripMargin && da > 2*db:
		return -1
	}
	return 0
}
