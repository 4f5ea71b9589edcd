package metrics

var redBalance = Metric{
	Name: "red_balance", Unit: "stops", Decimals: 2,
	Doc:   "Red of the right eye against the left's, less the same of green, in linear light over matched places. Positive: the right eye is redder.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 5,
	Measure: func(p *Pair) Measurement { return p.againstGreen(0) },
}

// againstGreen measures the gain of a channel against that of green.
func (p *Pair) againstGreen(channel int) Measurement {
	if p.Left.Layout == Grey || p.Right.Layout == Grey {
		return Missing("the picture has no colour")
	}
	return p.balanced(func(b *balance) Measurement {
		if b.few[channel] {
			return Missing(fewLights)
		}
		d := [balanceCount]float64{1: -1}
		d[channel] = 1
		return b.measured(b.stops[channel]-b.stops[1], d)
	})
}
