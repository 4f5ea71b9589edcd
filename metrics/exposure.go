package metrics

import "nightpair/metrics/light"

var exposure = Metric{
	Name: "exposure", Unit: "stops", Decimals: 2,
	Doc:   "Exposure of the right eye against the left, in linear light, by the green of places that both eyes show; a lifted black does not count. For log curves, whose shape files do not tell, code values are compared. Positive: the right eye is brighter.",
	Ideal: 0, Swap: SwapNegate, Revision: exposureRevision,
	Measure: func(p *Pair) Measurement {
		return p.balanced(func(b *light.Balance) Measurement {
			return b.Measured(b.Stops[1], [light.BalanceCount]float64{1: 1})
		})
	},
}
