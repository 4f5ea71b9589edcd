package metrics

import (
	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var exposure = Metric{
	Name: "exposure", Unit: "stops", Decimals: 2,
	Doc:   "Brightness of the right eye against the left's, in linear light, by the green that both eyes show of the same places; what a lifted black adds is not counted. Of log curves, whose shape files do not tell, code values are compared. Positive: the right eye is brighter.",
	Ideal: 0, Swap: SwapNegate, Revision: 6,
	Measure: func(p *Pair) stat.Measurement {
		return p.balanced(func(b *light.Balance) stat.Measurement {
			return b.Measured(b.Stops[1], [light.BalanceCount]float64{1: 1})
		})
	},
}

// balanced measures something of the fitted balance of light.
func (p *Pair) balanced(of func(b *light.Balance) stat.Measurement) stat.Measurement {
	b, reason := p.balance()
	if b == nil {
		return stat.Missing(reason)
	}
	return of(b)
}
