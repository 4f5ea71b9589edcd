package depth

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	// minCoverage is the smallest share of the picture with a parallax for which the extremes
	// mean anything. The project's own choice.
	minCoverage = 0.25
	// independentArea is the area, in quarter pixels, that gives one independent parallax:
	// that of the window of matching.
	independentArea = 30
	// surfaceSE is the uncertainty of a percentile through surfaces, edges and the picture's
	// rim, in pixels of the full raster. Measured on drawn scenes.
	surfaceSE = 0.25
)

const tooLittleMeasured = "too little of the picture tells its parallax"

// Percentile measures the q-quantile, 0 ≤ q ≤ 1, of the parallax over the picture, in % of the
// picture width. Full is the left full raster. It is missing where too little of the picture
// has a parallax.
func (m *Map) Percentile(q float64, g *geometry.Fit, full *raster.Raster) stat.Measurement {
	all := m.Ascending()
	if float64(len(all)) < minCoverage*float64(len(m.Parallax)) {
		return stat.Missing(tooLittleMeasured)
	}
	value := stat.Quantile(all, q)
	// The errors of the places spread the ends. What as much error again adds to that is some
	// half of what they have added. It is not taken off: what is nearer than it seems strains
	// the eyes.
	spread := stat.Quantile(m.ascendingNoisier(), q) - value
	// Five errors add up: that of the rank,
	rank := math.Sqrt(q * (1 - q) * independentArea / float64(len(all)))
	low, high := stat.Quantile(all, max(q-rank, 0)), stat.Quantile(all, min(q+rank, 1))
	// those of the places at that end and of what they spread,
	end := m.seBetween(float32(low), float32(high))
	// what the places without a parallax may change, if they are as far away as the farther
	// of what is beside them, or as near as the nearer.
	gap := 0.0
	for _, filled := range m.ascendingFilled(g, full) {
		gap = max(gap, math.Abs(stat.Quantile(filled, q)-value))
	}
	// Beyond the unambiguous matches of the geometry, texture that repeats may have been matched
	// some periods off: how far beyond is in doubt as a whole.
	beyond := 0.0
	if nearest, farthest, ok := matchedRange(unambiguous(g.Matches), full.Sx); ok {
		beyond = max(value-farthest, nearest-value, 0)
	}
	se := math.Hypot(math.Hypot((high-low)/2, end), math.Hypot(gap, surfaceSE))
	se = math.Hypot(se, math.Hypot(spread, beyond))
	percent := 100 / float64(full.Width)
	return stat.Measured(value*percent, se*percent)
}

// unambiguous lists the matches whose parallax can be relied on.
func unambiguous(matches []geometry.Match) (list []geometry.Match) {
	for i := range matches {
		if matches[i].Unambiguous {
			list = append(list, matches[i])
		}
	}
	return list
}

// Ascending returns the parallax of all places that have one, in pixels of the
// full raster, in ascending order. It is sorted once; the caller must not change it.
func (m *Map) Ascending() []float64 {
	if m.ascending == nil {
		measured := make([]float32, 0, len(m.Parallax))
		for _, p := range m.Parallax {
			if p == p {
				measured = append(measured, p)
			}
		}
		m.ascending = stat.Sorted(measured)
	}
	return m.ascending
}

// ascendingNoisier returns the parallax of all places that have one, each once with its standard
// error added and once subtracted, in ascending order: the distribution with as much error again
// (after J. R. Cook, L. A. Stefanski, "Simulation-extrapolation estimation in parametric
// measurement error models", JASA 89(428), 1994; from memory).
func (m *Map) ascendingNoisier() []float64 {
	if m.noisier == nil {
		values := make([]float32, 0, 2*len(m.Parallax))
		for i, p := range m.Parallax {
			if p == p {
				values = append(values, p-m.se[i], p+m.se[i])
			}
		}
		m.noisier = stat.Sorted(values)
	}
	return m.noisier
}

// seBetween returns the mean standard error of the places with a parallax from
// low to high, in pixels of the full raster; 0 when there are none.
func (m *Map) seBetween(low, high float32) float64 {
	var sum, n float64
	for i, p := range m.Parallax {
		if p >= low && p <= high {
			sum += float64(m.se[i])
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return sum / n
}

// ascendingFilled returns the parallax of all places in pixels of the full raster, in
// ascending order, twice: places without one are guessed to be as far away as the farther of
// their neighbours along the row, or as near as the nearest of those along row and column. Rows
// without any are guessed to be like the last row above that has some, or else the first one
// below.
func (m *Map) ascendingFilled(g *geometry.Fit, full *raster.Raster) [2][]float64 {
	if m.filledValues == nil {
		m.filledValues = &[2][]float64{m.filled(g, full, false), m.filled(g, full, true)}
	}
	return *m.filledValues
}

func (m *Map) filled(g *geometry.Fit, full *raster.Raster, near bool) []float64 {
	// What is continued from place to place is the parallax p of the aligned picture, without
	// what roll and zoom add: x' = cos·(x + p) − sin·y, of which the map holds x' − x.
	sin, cos := float32(g.Similarity.Sin), float32(g.Similarity.Cos)
	at := func(x, y int) (X, Y float32) {
		a, b := full.Place(raster.Quarter*float64(x)+1.5, raster.Quarter*float64(y)+1.5)
		return float32(a / full.Sx), float32(b / full.Sx)
	}
	depth := make([]float32, len(m.Parallax))
	known := -1 // the last row with a parallax
	for y := range m.Height {
		row := depth[y*m.Width:][:m.Width]
		first, last := -1, -1
		for x, p := range m.Parallax[y*m.Width:][:m.Width] {
			if p != p {
				continue
			}
			X, Y := at(x, y)
			row[x] = (p+X+sin*Y)/cos - X
			if first < 0 {
				first = x
			} else {
				fill(row[last+1:x], max(row[last], row[x]))
			}
			last = x
		}
		if first < 0 {
			if known >= 0 {
				copy(row, depth[known*m.Width:])
			}
			continue
		}
		fill(row[:first], row[first])
		fill(row[last+1:], row[last])
		if known < 0 {
			for above := range y {
				copy(depth[above*m.Width:][:m.Width], row)
			}
		}
		known = y
	}
	if near {
		m.fillNear(depth)
	}
	for i, p := range m.Parallax {
		if p != p {
			X, Y := at(i%m.Width, i/m.Width)
			p = cos*(X+depth[i]) - sin*Y - X
		}
		depth[i] = p
	}
	return stat.Sorted(depth)
}

// fillNear brings the guesses for places without a parallax as near as the nearest of the first
// places with one to the left, the right, above and below. Depth holds parallax as filled
// makes it, in pixels of the full raster.
func (m *Map) fillNear(depth []float32) {
	nearest := make([]float32, len(depth))
	copy(nearest, depth)
	known := func(i int) bool { return m.Parallax[i] == m.Parallax[i] }
	pass := func(start, step, count int) {
		seen := float32(math.Inf(1))
		// What is hidden beside something nearer, to its left, is no thing of its own.
		hidden := 0
		for i := start; count > 0; i, count = i+step, count-1 {
			switch {
			case known(i):
				hidden = 0
				if step == -1 && i%m.Width > 0 && !known(i-1) {
					hidden = int(max(depth[i-1]-depth[i], 0)/raster.Quarter) + 1
				}
				seen = depth[i]
			case hidden > 0:
				hidden--
			default:
				nearest[i] = min(nearest[i], seen)
			}
		}
	}
	for y := range m.Height {
		pass(y*m.Width, 1, m.Width)
		pass(y*m.Width+m.Width-1, -1, m.Width)
	}
	for x := range m.Width {
		pass(x, m.Width, m.Height)
		pass(x+(m.Height-1)*m.Width, -m.Width, m.Height)
	}
	copy(depth, nearest)
}

// fill sets all of row to v.
func fill(row []float32, v float32) {
	for i := range row {
		row[i] = v
	}
}
