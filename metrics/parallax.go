package metrics

import "math"

var nearParallax = Metric{
	Name: "near_parallax", Unit: "% of picture width", Decimals: 2,
	Doc:   "Parallax x_right − x_left of the nearest things: 1st percentile over the picture. Negative: in front of the screen.",
	Ideal: math.NaN(), Swap: SwapPartner, Partner: "far_parallax", Revision: 1,
	Measure: func(p *Pair) Measurement { return p.parallax(0.01) },
}

var farParallax = Metric{
	Name: "far_parallax", Unit: "% of picture width", Decimals: 2,
	Doc:   "Parallax x_right − x_left of the farthest things: 99th percentile over the picture. Positive: behind the screen.",
	Ideal: math.NaN(), Swap: SwapPartner, Partner: "near_parallax", Revision: 1,
	Measure: func(p *Pair) Measurement { return p.parallax(0.99) },
}

const (
	// parallaxLeast is the least share of the picture that must tell its
	// parallax before the extremes mean anything.
	parallaxLeast = 0.05
	// parallaxSE is the standard error of one place of the map, in pixels of the
	// full raster.
	parallaxSE = 0.3
)

// parallax measures a percentile of the dense map.
func (p *Pair) parallax(q float64) Measurement {
	m, reason := p.disparity()
	if m == nil {
		return Missing(reason)
	}
	all := m.claimed()
	if float64(len(all)) < parallaxLeast*float64(len(m.parallax)) {
		return Missing("too little of the picture tells its parallax")
	}
	// Places within one window of matching are one piece of evidence; the
	// percentile is known as well as its rank is.
	pieces := float64(len(all)) / (blockReach * blockReach)
	rank := math.Sqrt(q * (1 - q) / pieces)
	low, high := quantile(all, max(q-rank, 0)), quantile(all, min(q+rank, 1))
	percent := 100 / float64(p.left().full.width)
	return Measured(quantile(all, q)*percent, math.Hypot((high-low)/2, parallaxSE)*percent)
}
