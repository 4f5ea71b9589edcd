package geometry

import (
	"math"

	"nightpair/metrics/raster"
)

const (
	// searchRows is the largest displacement up and down for which the eyes' pictures are
	// searched, through offset, roll and zoom together, as a share of the height.
	searchRows = 0.20
	// SearchParallax is the parallax, as a share of the width, up to which places are searched
	// in any case. ParallaxMargin, likewise, is how far the search reaches beyond the
	// parallax that the rough alignment shows.
	SearchParallax = 0.14
	ParallaxMargin = 0.04
	// guidedRows is how many quarter rows above and below the expected one are
	// searched once the rough alignment is known.
	guidedRows = 3

	// maxDistance is the largest number of differing bits of a candidate, and maxCandidates
	// how many are kept.
	maxDistance   = raster.BlockRandom * 6 / 10
	maxCandidates = 3
)

// searchWidths holds how far to either side, as shares of the width, the rough alignment is
// searched, in turn.
var searchWidths = [...]float64{0.16, 0.38}

// window bounds a search in quarter pixels: columns as offsets from the place's own, rows
// as offsets from where the alignment puts it.
type window struct{ minX, maxX, minY, maxY int }

// candidate is a place in the other picture whose census block is similar.
type candidate struct {
	x, y     int    // quarter pixels
	distance uint16 // differing bits
}

// searcher finds places of one census in another. It holds scratch memory.
type searcher struct {
	from, to *raster.Census
	// sign is +1 for places of the left picture searched in the right one, −1 for the
	// reverse.
	sign float64
	rows [][]uint16
}

// find returns the maxCandidates most similar places of the window, best first, each of them a
// local minimum of the distance. It overwrites dst. There are none at the picture's border.
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
	// Along the window, roll changes the expected row, by a pixel or two at most. It is
	// rounded once for every few columns.
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

// isLocalMinimum reports whether entry j of row k is lower than its eight neighbours; of equal
// ones the first counts.
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
