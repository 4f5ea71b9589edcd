package metrics

var verticalRest = Metric{
	Name: "vertical_rest", Unit: "% of picture height", Decimals: 3,
	Doc:   "Vertical disparity that is left when the terms of the rig are taken out, as lenses that bend differently or eyes that are not in sync make it. Never negative.",
	Ideal: 0, Swap: SwapKeep, Revision: 4,
	Measure: func(p *Pair) Measurement {
		g, reason := p.geometry()
		if g == nil {
			return Missing(reason)
		}
		return g.rest()
	},
}
