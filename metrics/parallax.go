package metrics

import (
	"math"

	"nightpair/metrics/stat"
)

var nearParallax = Metric{
	Name: "near_parallax", Unit: "% of picture width", Decimals: 2,
	Doc:   "Parallax x_right − x_left of the nearest things: the 1st percentile over the picture. Negative: in front of the screen.",
	Ideal: math.NaN(), Swap: SwapPartner, Partner: "far_parallax", Revision: parallaxRevision,
	Measure: func(p *Pair) Measurement { return p.parallax(0.01) },
}

var farParallax = Metric{
	Name: "far_parallax", Unit: "% of picture width", Decimals: 2,
	Doc:   "Parallax x_right − x_left of the farthest things: the 99th percentile over the picture. Positive: behind the screen.",
	Ideal: math.NaN(), Swap: SwapPartner, Partner: "near_parallax", Revision: parallaxRevision,
	Measure: func(p *Pair) Measurement { return p.parallax(0.99) },
}

// parallax measures the q-quantile, 0 to 1, of the dense map.
func (p *Pair) parallax(q float64) Measurement {
	m, reason := p.depth()
	if m == nil {
		return stat.Missing(reason)
	}
	g, _ := p.geometry()
	return m.Percentile(q, g, p.left().Full)
}
