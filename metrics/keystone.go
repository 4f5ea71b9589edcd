package metrics

var keystone = Metric{
	Name: "keystone", Unit: "% of picture height, at the corner", Decimals: 3,
	Doc:   "Vertical disparity that grows with x·y, as toed-in cameras make it. Positive: the right eye's picture is taller at its right side.",
	Ideal: 0, Swap: SwapNegate, Revision: 4,
	Measure: func(p *Pair) Measurement {
		return p.fitted(func(g *geometry) (float64, terms) {
			corner := 100 * p.halfWidth() / 2
			return corner * g.terms[termKeystone], terms{termKeystone: corner}
		})
	},
}
