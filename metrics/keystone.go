package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
)

var keystone = Metric{
	Name: "keystone", Unit: "% of picture height, at the corner", Decimals: 3,
	Doc:   "Vertical disparity that grows with x·y, as toed-in cameras make it. Positive: the right eye's picture is taller at its right side.",
	Ideal: 0, Swap: SwapNegate, Revision: 4,
	Measure: func(p *Pair) stat.Measurement {
		return p.fitted(func(g *geometry.Fit) (float64, geometry.Terms) {
			corner := 100 * p.halfWidth() / 2
			return corner * g.Terms[geometry.TermKeystone], geometry.Terms{geometry.TermKeystone: corner}
		})
	},
}
