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
	// Three errors add up: that of the rank,
	rank := math.Sqrt(q * (1 - q) * independentArea / float64(len(all)))
	low, high := stat.Quantile(all, max(q-rank, 0)), stat.Quantile(all, min(q+rank, 1))
	// that of the places at that end,
	end := m.seBetween(float32(low), float32(high))
	// and what the places without a parallax may change.
	gap := stat.Quantile(m.ascendingFilled(g, full), q) - value
	se := math.Hypot(math.Hypot((high-low)/2, end), math.Hypot(gap, surfaceSE))
	percent := 100 / float64(full.Width)
	return stat.Measured(value*percent, se*percent)
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
// ascending order. Places without one are guessed to be as far away as the farther of
// their neighbours along the row, and rows without any to be like the last row
// above that has some, or else the first one below.
func (m *Map) ascendingFilled(g *geometry.Fit, full *raster.Raster) []float64 {
	if m.filledValues != nil {
		return m.filledValues
	}
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
	for i, p := range m.Parallax {
		if p != p {
			X, Y := at(i%m.Width, i/m.Width)
			p = cos*(X+depth[i]) - sin*Y - X
		}
		depth[i] = p
	}
	m.filledValues = stat.Sorted(depth)
	return m.filledValues
}

// fill sets all of row to v.
func fill(row []float32, v float32) {
	for i := range row {
		row[i] = v
	}
}
