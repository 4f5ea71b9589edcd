package geometry

import (
	"math"

	"nightpair/metrics/raster"
)

const (
	// How far the eyes may be apart: the search for anything in common reaches
	// this share of the height up and down, for offset, roll and zoom at once; the
	// one for parallax at least this share of the width, and ParallaxMargin more
	// than was seen in the rough alignment.
	searchRows     = 0.20
	SearchParallax = 0.14
	ParallaxMargin = 0.04
	// guidedRows is how many quarter rows above and below the expected one are
	// searched once the rough alignment is known.
	guidedRows = 3

	// A candidate counts when it differs in at most this many bits, and the best
	// one is alone when the next differs in distinctly more.
	maxDistance   = raster.BlockRandom * 6 / 10
	maxCandidates = 3
)

// searchAcross holds the reaches, as shares of the width, at which anything in
// common is looked for in turn.
var searchWidths = [...]float64{0.16, 0.38}

// rough is an alignment good to some pixels: the right eye's picture of a place
// at height y lies at column x' lower by shift + roll·x' + zoom·y, in pixels of
// the raster it was found on, counted from its centre.
type roughAlignment struct{ shift, roll, zoom float64 }

func (g roughAlignment) displacement(rx, y float64) float64 { return g.shift + g.roll*rx + g.zoom*y }

// window bounds a search: columns as offsets from the place's own, rows as
// offsets from where the alignment expects it.
type window struct{ minX, maxX, minY, maxY int }

// candidate is a place in the other picture that looks alike.
type candidate struct {
	x, y     int
	distance uint16
}

// searcher finds places of one census in another. It holds scratch space.
type searcher struct {
	from, to *raster.Census
	// sign is +1 when searching the right picture for places of the left, −1 the
	// other way round.
	sign float64
	rows [][]uint16
}

// find returns the few most alike places of the window, best first, each the
// best of its surroundings. The order does not depend on anything but the pictures.
func (s *searcher) find(dst []candidate, x, y int, g roughAlignment, win window) []candidate {
	dst = dst[:0]
	if !s.from.Inside(x, y) {
		return dst
	}
	b := s.from.Block(x, y)
	first, last := max(x+win.minX, raster.BlockReach), min(x+win.maxX, s.to.Width-raster.BlockReach-1)
	n := last - first + 1
	if n <= 0 {
		return dst
	}
	// Expected rows change along the window by the roll; over its width that is
	// a pixel or two at most, taken at steps.
	height := win.maxY - win.minY + 1
	for len(s.rows) < height {
		s.rows = append(s.rows, nil)
	}
	rows := s.rows[:height]
	for k := range rows {
		if cap(rows[k]) < n {
			rows[k] = make([]uint16, n)
		}
		rows[k] = rows[k][:n]
	}
	const step = 8
	base := make([]int, (n+step-1)/step)
	cx, cy := float64(s.to.Width-1)/2, float64(s.to.Height-1)/2
	for i := range base {
		at := first + i*step
		mid := float64(min(at+step/2, last)) - cx
		if s.sign < 0 {
			mid = float64(x) - cx
		}
		base[i] = y + int(math.Round(s.sign*g.displacement(mid, float64(y)-cy)))
	}
	for k := range rows {
		for i := range base {
			a, z := i*step, min(i*step+step, n)
			row := base[i] + win.minY + k
			if row < raster.BlockReach || row >= s.to.Height-raster.BlockReach {
				for j := a; j < z; j++ {
					rows[k][j] = raster.BlockBits
				}
				continue
			}
			s.to.Distances(rows[k][a:z], &b, first+a, row)
		}
	}
	worst := uint16(maxDistance)
	for k, row := range rows {
		for j, d := range row {
			if d >= worst || !isLocalMinimum(rows, k, j) {
				continue
			}
			i := len(dst)
			if i < maxCandidates {
				dst = append(dst, candidate{})
			} else {
				i--
			}
			for ; i > 0 && dst[i-1].distance > d; i-- {
				dst[i] = dst[i-1]
			}
			dst[i] = candidate{x: first + j, y: base[j/step] + win.minY + k, distance: d}
			if len(dst) == maxCandidates {
				worst = dst[maxCandidates-1].distance
			}
		}
	}
	return dst
}

// lowest reports whether an entry is the lowest among its eight neighbours; of
// equal ones the first counts.
func isLocalMinimum(rows [][]uint16, k, j int) bool {
	d := rows[k][j]
	for dk := -1; dk <= 1; dk++ {
		if k+dk < 0 || k+dk >= len(rows) {
			continue
		}
		row := rows[k+dk]
		for dj := -1; dj <= 1; dj++ {
			if j+dj < 0 || j+dj >= len(row) || dk == 0 && dj == 0 {
				continue
			}
			v := row[j+dj]
			if v < d || v == d && (dk < 0 || dk == 0 && dj < 0) {
				return false
			}
		}
	}
	return true
}
