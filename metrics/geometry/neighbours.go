package geometry

import (
	"math"

	"nightpair/metrics/stat"
)

const (
	// stepLeak is the share of a step of parallax beside a match that goes into its
	// vertical error, and maxStep the largest step that counts, in picture
	// heights: a larger one tears the patch apart rather than mixing in.
	stepShare = 0.06
	maxStep   = 10.0 / 540
)

// supported leaves out matches whose parallax no match around shares: most of
// them were found at the wrong place of their row.
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

// matchCells is how many cells a picture height has that are about as wide as matches
// are apart.
const cellsPerHeight = 50

// Neighbours lists for each match those in its own and the adjoining cells of a
// grid of so many cells per picture height, itself among them.
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

// grid finds matches by where the left picture shows them.
type grid struct {
	cells float64 // per picture height
	index map[[2]int][]int
}

// newGrid returns a grid of the listed matches.
func newGrid(matches []Match, listed []int, cells float64) grid {
	g := grid{cells: cells, index: make(map[[2]int][]int, len(listed))}
	for _, i := range listed {
		c := g.cell(&matches[i])
		g.index[c] = append(g.index[c], i)
	}
	return g
}

func (g grid) cell(m *Match) [2]int {
	return [2]int{int(math.Floor(m.LeftX * g.cells)), int(math.Floor(m.LeftY * g.cells))}
}

// around appends the matches in the cell of m and the adjoining ones.
func (g grid) around(dst []int, m *Match) []int {
	c := g.cell(m)
	for dy := -1; dy <= 1; dy++ {
		for dx := -1; dx <= 1; dx++ {
			dst = append(dst, g.index[[2]int{c[0] + dx, c[1] + dy}]...)
		}
	}
	return dst
}

// parallaxSteps returns for each match by how much the parallax of the matches
// around differs from its own: their root mean square. A patch that looks at two
// depths is found in between, and where the edge between them is slanted, in
// between up and down too.
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
