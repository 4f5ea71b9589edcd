package metrics

var exposure = Metric{
	Name: "exposure", Unit: "stops", Decimals: 2,
	Doc:   "Brightness of the right eye against the left's, in linear light, by the green that both eyes show of the same places; what a lifted black adds is not counted. Of log curves, whose shape files do not tell, code values are compared. Positive: the right eye is brighter.",
	Ideal: 0, Swap: SwapNegate, Revision: 6,
	Measure: func(p *Pair) Measurement {
		return p.balanced(func(b *balance) Measurement {
			return b.measured(b.stops[1], [balanceCount]float64{1: 1})
		})
	},
}

// balanced measures something of the fitted balance of light.
func (p *Pair) balanced(of func(b *balance) Measurement) Measurement {
	b, reason := p.balance()
	if b == nil {
		return Missing(reason)
	}
	return of(b)
}
