package metrics

import (
	"nightpair/metrics/light"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

var redBalance = Metric{
	Name: "red_balance", Unit: "stops", Decimals: 2,
	Doc:   "Red of the right eye against the left's, less the same of green, in linear light over matched places. Positive: the right eye is redder.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: balanceRevision,
	Measure: func(p *Pair) Measurement { return p.againstGreen(0) },
}

// againstGreen measures the gain of a channel against that of green.
func (p *Pair) againstGreen(channel int) Measurement {
	if p.Left.Layout == picture.Grey || p.Right.Layout == picture.Grey {
		return stat.Missing("the picture has no colour")
	}
	return p.balanced(func(b *light.Balance) Measurement {
		if b.TooFew[channel] {
			return stat.Missing(light.TooFewPlaces)
		}
		d := [light.BalanceCount]float64{1: -1}
		d[channel] = 1
		return b.Measured(b.Stops[channel]-b.Stops[1], d)
	})
}
