package metrics

import "math"

const (
	// parallaxLeast is the least share of the picture that must tell its
	// parallax before the extremes mean anything. The project's own choice.
	parallaxLeast = 0.25
	// parallaxPiece is the area in quarter pixels that tells its parallax as one:
	// that of the window of matching.
	parallaxPiece = 30
	// parallaxSE is what surfaces, edges and the rim leave uncertain of a
	// percentile, in pixels of the full raster. Measured on drawn scenes.
	parallaxSE = 0.25
)

const tooLittleTold = "too little of the picture tells its parallax"

// percentile measures a percentile of the parallax, in % of the picture width. Full is
// the left picture.
func (m *disparity) percentile(q float64, g *geometry, full *raster) Measurement {
	all := m.claimed()
	if float64(len(all)) < parallaxLeast*float64(len(m.parallax)) {
		return Missing(tooLittleTold)
	}
	value := quantile(all, q)
	// The percentile is known as well as its rank is,
	rank := math.Sqrt(q * (1 - q) * parallaxPiece / float64(len(all)))
	low, high := quantile(all, max(q-rank, 0)), quantile(all, min(q+rank, 1))
	// as well as the places at that end are,
	end := m.seBetween(float32(low), float32(high))
	// and as far as the rest of the picture follows its surroundings.
	silent := quantile(m.filled(g, full), q) - value
	se := math.Hypot(math.Hypot((high-low)/2, end), math.Hypot(silent, parallaxSE))
	percent := 100 / float64(full.width)
	return Measured(value*percent, se*percent)
}

// claimed returns the parallax of all places that have one, in pixels of the
// full raster, in ascending order.
func (m *disparity) claimed() []float64 {
	if m.ascending == nil {
		told := make([]float32, 0, len(m.parallax))
		for _, p := range m.parallax {
			if p == p {
				told = append(told, p)
			}
		}
		m.ascending = sorted(told)
	}
	return m.ascending
}

// seBetween returns the mean standard error of the places with a parallax from
// low to high, in pixels; 0 when there are none.
func (m *disparity) seBetween(low, high float32) float64 {
	var sum, n float64
	for i, p := range m.parallax {
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

// filled returns the parallax of all places in pixels of the full raster, in
// ascending order. Those that do not tell are taken for as far away as the
// farther of their neighbours along the row, and a row that tells nothing for
// like the next one: a guess.
func (m *disparity) filled(g *geometry, full *raster) []float64 {
	if m.guess != nil {
		return m.guess
	}
	// Depth goes on from place to place, not what a turned picture adds to its
	// parallax: with x' = cos·(x + p) − sin·y, of which m holds x' − x.
	sin, cos := float32(g.line.sin), float32(g.line.cos)
	at := func(x, y int) (X, Y float32) {
		a, b := full.place(quarter*float64(x)+1.5, quarter*float64(y)+1.5)
		return float32(a / full.sx), float32(b / full.sx)
	}
	depth := make([]float32, len(m.parallax))
	told := -1 // the last row that tells anything
	for y := range m.height {
		row := depth[y*m.width:][:m.width]
		first, last := -1, -1
		for x, p := range m.parallax[y*m.width:][:m.width] {
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
			if told >= 0 {
				copy(row, depth[told*m.width:])
			}
			continue
		}
		fill(row[:first], row[first])
		fill(row[last+1:], row[last])
		if told < 0 {
			for above := range y {
				copy(depth[above*m.width:][:m.width], row)
			}
		}
		told = y
	}
	for i, p := range m.parallax {
		if p != p {
			X, Y := at(i%m.width, i/m.width)
			p = cos*(X+depth[i]) - sin*Y - X
		}
		depth[i] = p
	}
	m.guess = sorted(depth)
	return m.guess
}

func fill(row []float32, v float32) {
	for i := range row {
		row[i] = v
	}
}
