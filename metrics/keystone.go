package metrics

import "nightpair/metrics/geometry"

var keystone = Metric{
	Name: "keystone", Unit: "% of picture height, at the corner", Decimals: 3,
	Doc:   "Vertical disparity that grows with x·y, as toed-in cameras cause it. Positive: the right eye's picture is taller at its right side.",
	Ideal: 0, Swap: SwapNegate, Revision: geometryRevision,
	Measure: func(p *Pair) Measurement {
		return p.fitted(func(g *geometry.Fit) (float64, geometry.Terms) {
			corner := 100 * p.halfWidth() / 2
			return corner * g.Terms[geometry.TermKeystone], geometry.Terms{geometry.TermKeystone: corner}
		})
	},
}
