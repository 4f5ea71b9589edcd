package metrics

import "nightpair/metrics/stat"

var verticalRest = Metric{
	Name: "vertical_rest", Unit: "% of picture height", Decimals: 3,
	Doc:   "Vertical disparity that is left when the terms of the rig are taken out, as lenses that bend differently or eyes that are not in sync make it. Never negative.",
	Ideal: 0, Swap: SwapKeep, Revision: 4,
	Measure: func(p *Pair) stat.Measurement {
		g, reason := p.geometry()
		if g == nil {
			return stat.Missing(reason)
		}
		return g.ResidualDisparity()
	},
}
