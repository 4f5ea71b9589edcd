package metrics

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

const (
	// stepLeak is the share of a step of parallax beside a match that goes into its
	// vertical error, and stepMost the largest step that counts, in picture
	// heights: a larger one tears the patch apart rather than mixing in.
	stepLeak = 0.03
	stepMost = 10.0 / 540
)

// supported leaves out matches whose parallax no match around shares: most of
// them were found at the wrong place of their row.
func supported(matches []Match) (kept []Match) {
	const around, alike = 5.0 / 27, 3.0 / 540 // picture heights
	for i := range matches {
		m := &matches[i]
		for j := range matches {
			o := &matches[j]
			if i != j && math.Abs(o.LeftX-m.LeftX) < around && math.Abs(o.LeftY-m.LeftY) < around &&
				math.Abs((o.RightX-o.LeftX)-(m.RightX-m.LeftX)) < alike {
				kept = append(kept, *m)
				break
			}
		}
	}
	return kept
}

// neighbours lists for each match those in its own and the adjoining cells of a
// grid, itself among them.
func neighbours(matches []Match) [][]int {
	const cells = 27 // per picture height: about as far apart as matches are
	type cell struct{ x, y int }
	at := func(m *Match) cell {
		return cell{int(math.Floor(m.LeftX * cells)), int(math.Floor(m.LeftY * cells))}
	}
	index := make(map[cell][]int, len(matches))
	for i := range matches {
		c := at(&matches[i])
		index[c] = append(index[c], i)
	}
	near := make([][]int, len(matches))
	for i := range matches {
		c := at(&matches[i])
		for dy := -1; dy <= 1; dy++ {
			for dx := -1; dx <= 1; dx++ {
				near[i] = append(near[i], index[cell{c.x + dx, c.y + dy}]...)
			}
		}
	}
	return near
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
			sum += sq(min(math.Abs(matches[j].RightX-matches[j].LeftX-own), stepMost))
		}
		steps[i] = math.Sqrt(sum / float64(len(near[i])))
	}
	return steps
}

// calm takes from the parallaxes what is likely to be their own noise, as terms
// that go with parallax would come out too small and too sure of themselves
// otherwise. Parallax across repeated texture counts for nothing: it becomes the
// median of its neighbours'. How much noise the rest has, neighbours tell. Where
// it is not small against how parallax departs from a smooth surface over the
// picture, which the other terms could explain as well, each parallax becomes
// the median of its neighbours', and its departure from the surface is reduced
// by the share that noise has in it (regression calibration; R. J. Carroll et
// al., "Measurement Error in Nonlinear Models"; from memory). Where that would be
// more than a little, or most of the texture repeats, depth is not let tell
// anything.
func (f *rigFit) calm(depth []float64) {
	// Shares of the variance that noise may have before it is taken out at all,
	// and before nothing is left to trust.
	const little, most = 0.02, 0.04
	var known []int // matches with a neighbour whose parallax counts
	even := make([]float64, len(depth))
	var around, off []float64
	var thin, alone float64
	for i, d := range depth {
		around = around[:0]
		for _, j := range f.near[i] {
			if f.matches[j].Alone {
				around = append(around, depth[j])
			}
		}
		if len(around) == 0 {
			continue
		}
		known = append(known, i)
		even[i] = median(around)
		thin += 1 / float64(len(around))
		if f.matches[i].Alone {
			off = append(off, math.Abs(d-even[i]))
			alone++
		}
	}
	surface := f.surface(even, known)
	if surface == nil {
		return // too few, or all on a line: then depth tells nothing either
	}
	noise := sq(1.4826*median(off)) + sq(geometryFloor)
	var spread float64
	for _, i := range known {
		spread += sq(even[i] - surface[i])
	}
	spread /= float64(len(known))
	// A median's variance is π/2 of a mean's.
	keep := 1 - noise*math.Pi/2*thin/float64(len(known))/spread
	if keep < 1-most || alone < float64(len(depth))/2 {
		copy(depth, surface)
		return
	}
	calm := slices.Clone(surface)
	for _, i := range known {
		calm[i] += keep * (even[i] - surface[i])
	}
	for i := range depth {
		if noise > little*spread || !f.matches[i].Alone {
			depth[i] = calm[i]
		}
	}
}

// surface returns at all matches the least-squares quadratic surface, with the
// cubic term of distortion, through the values of the known ones over the left
// picture; nil where they do not fix it.
func (f *rigFit) surface(values []float64, known []int) []float64 {
	const terms = 7
	if len(known) < 2*terms {
		return nil
	}
	row := func(i int) []float64 {
		x, y := f.matches[i].LeftX, f.matches[i].LeftY
		return []float64{1, x, y, x * x, x * y, y * y, y * (x*x + y*y)}
	}
	a, b := mat.NewDense(len(known), terms, nil), mat.NewVecDense(len(known), nil)
	for n, i := range known {
		a.SetRow(n, row(i))
		b.SetVec(n, values[i])
	}
	var through mat.VecDense
	if through.SolveVec(a, b) != nil {
		return nil
	}
	surface := make([]float64, len(f.matches))
	for i := range surface {
		surface[i] = mat.Dot(&through, mat.NewVecDense(terms, row(i)))
	}
	return surface
}
