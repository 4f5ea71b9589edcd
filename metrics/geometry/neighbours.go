package geometry

import (
	"math"

	"nightpair/metrics/stat"
)

const (
	// stepShare is the share of a step of parallax beside a match that counts as vertical
	// error. maxStep is the largest step that counts, in picture heights: at a larger one the
	// patch locks on to one side instead of mixing both.
	stepShare = 0.06
	maxStep   = 10.0 / 540
)

// withSupport returns the matches whose parallax at least one other match nearby shares: most of
// the others were found at a wrong place of their row.
func withSupport(matches []Match) (kept []Match) {
	const radius, tolerance = 5.0 / 50, 3.0 / 540 // picture heights
	agree := func(i, j int) bool {
		if j < 0 || j >= len(matches) {
			return false
		}
		m, o := &matches[i], &matches[j]
		return math.Abs(o.LeftX-m.LeftX) < radius && math.Abs(o.LeftY-m.LeftY) < radius &&
			math.Abs((o.RightX-o.LeftX)-(m.RightX-m.LeftX)) < tolerance
	}
	for i := range matches {
		// Those next in order are mostly next in the picture too.
		for far := 1; far < len(matches); far++ {
			if agree(i, i-far) || agree(i, i+far) {
				kept = append(kept, matches[i])
				break
			}
		}
	}
	return kept
}

// cellsPerHeight is how many cells of Neighbours make a picture height where cells are about as
// wide as the distance between matches.
const cellsPerHeight = 50

// Neighbours lists for each match the indices of the matches in its own and the eight adjoining
// cells of a grid over the left picture, of so many cells per picture height. The match itself
// is among them.
func Neighbours(matches []Match, cells float64) [][]int {
	all := make([]int, len(matches))
	for i := range matches {
		all[i] = i
	}
	at := newGrid(matches, all, cells)
	near := make([][]int, len(matches))
	for i := range matches {
		near[i] = at.around(nil, &matches[i])
	}
	return near
}

// grid holds indices of matches by the cell of the left picture in which they lie.
type grid struct {
	cells float64 // per picture height
	index map[[2]int][]int
}

// newGrid returns the grid of the listed matches.
func newGrid(matches []Match, listed []int, cells float64) grid {
	g := grid{cells: cells, index: make(map[[2]int][]int, len(listed))}
	for _, i := range listed {
		c := g.cell(&matches[i])
		g.index[c] = append(g.index[c], i)
	}
	return g
}

// cell returns the column and row of the cell of a match.
func (g grid) cell(m *Match) [2]int {
	return [2]int{int(math.Floor(m.LeftX * g.cells)), int(math.Floor(m.LeftY * g.cells))}
}

// around appends the matches in the cell of m and the adjoining ones to dst.
func (g grid) around(dst []int, m *Match) []int {
	c := g.cell(m)
	for dy := -1; dy <= 1; dy++ {
		for dx := -1; dx <= 1; dx++ {
			dst = append(dst, g.index[[2]int{c[0] + dx, c[1] + dy}]...)
		}
	}
	return dst
}

// parallaxSteps returns for each match the root mean square of the differences between its
// parallax and that of its neighbours, in picture heights. A patch that sees two depths is
// found in between, and at a slanted edge also at a wrong height.
func parallaxSteps(matches []Match, near [][]int) []float64 {
	steps := make([]float64, len(matches))
	for i := range matches {
		own := matches[i].RightX - matches[i].LeftX
		var sum float64
		for _, j := range near[i] {
			sum += stat.Sq(min(math.Abs(matches[j].RightX-matches[j].LeftX-own), maxStep))
		}
		steps[i] = math.Sqrt(sum / float64(len(near[i])))
	}
	return steps
}
