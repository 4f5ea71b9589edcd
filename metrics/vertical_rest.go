package metrics

import "nightpair/metrics/stat"

var verticalRest = Metric{
	Name: "vertical_rest", Unit: "% of picture height", Decimals: 3,
	Doc:   "Residual vertical disparity, once the terms of the rig are taken out, as different lens distortion or eyes out of sync cause it. Never negative.",
	Ideal: 0, Swap: SwapKeep, Revision: geometryRevision,
	Measure: func(p *Pair) Measurement {
		g, reason := p.geometry()
		if g == nil {
			return stat.Missing(reason)
		}
		return g.ResidualDisparity()
	},
}
