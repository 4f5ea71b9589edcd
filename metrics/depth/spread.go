package depth

import (
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// Spread is the distribution of parallax over the picture of one moment.
type Spread struct {
	// Coverage is the share of the picture that has a parallax, 0 to 1.
	Coverage float64 `json:"told"`
	// Parallax holds the percentiles of that share that SpreadPercentiles lists, in % of
	// the picture width.
	Parallax []float64 `json:"parallax"`
	// Near and Far are where in the left picture most of the nearest and most of the farthest
	// hundredth of that share lies.
	Near Position `json:"near"`
	Far  Position `json:"far"`
}

// Position is a place in a picture, in % of its width from the left edge and of
// its height from the top.
type Position struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// SpreadPercentiles are the percentiles of Spread.Parallax, denser at the ends,
// where a small near thing shows. Records refer to them by position: they are never changed.
var SpreadPercentiles = []float64{0.2, 0.5, 1, 2, 5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 98, 99, 99.5, 99.8}

// Spread returns the distribution of parallax, or the reason why there is none. Full is the left
// full raster.
func (m *Map) Spread(full *raster.Raster) (s *Spread, reason string) {
	all := m.Ascending()
	if len(all) == 0 {
		return nil, tooLittleMeasured
	}
	percent := 100 / float64(full.Width)
	s = &Spread{Coverage: stat.Rounded(float64(len(all))/float64(len(m.Parallax)), 3)}
	for _, q := range SpreadPercentiles {
		s.Parallax = append(s.Parallax, stat.Rounded(stat.Quantile(all, q/100)*percent, 3))
	}
	low, high := float32(stat.Quantile(all, 0.01)), float32(stat.Quantile(all, 0.99))
	s.Near = m.densest(func(v float32) bool { return v <= low })
	s.Far = m.densest(func(v float32) bool { return v >= high })
	return s, ""
}

// densest returns the mean position of the wanted places in the cell of a coarse grid that has
// most of them; the picture's centre where there are none.
func (m *Map) densest(wanted func(float32) bool) Position {
	const across, down = 12, 7
	type cell struct{ n, x, y int }
	var cells [across * down]cell
	best := 0
	for i, v := range m.Parallax {
		if !wanted(v) {
			continue
		}
		x, y := i%m.Width, i/m.Width
		k := y*down/m.Height*across + x*across/m.Width
		c := &cells[k]
		c.n, c.x, c.y = c.n+1, c.x+x, c.y+y
		if c.n > cells[best].n {
			best = k
		}
	}
	c := cells[best]
	if c.n == 0 {
		return Position{50, 50}
	}
	middle := func(sum, size int) float64 {
		return stat.Rounded(100*(float64(sum)/float64(c.n)+0.5)/float64(size), 1)
	}
	return Position{middle(c.x, m.Width), middle(c.y, m.Height)}
}
