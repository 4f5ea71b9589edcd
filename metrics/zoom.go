package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
)

var zoom = Metric{
	Name: "zoom", Unit: "%", Decimals: 3,
	Doc:   "Size of the right eye's picture against the left's. Positive: the right eye's picture is larger.",
	Ideal: 0, Swap: SwapInvert, Revision: 4,
	Measure: func(p *Pair) stat.Measurement {
		return p.fitted(func(g *geometry.Fit) (float64, geometry.Terms) {
			return 100 * g.Zoom(), geometry.Terms{geometry.TermZoom: 100}
		})
	},
}
