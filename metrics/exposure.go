package metrics

import "math"

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

// stopsKnown is the largest standard error in stops of a brightness that means
// anything.
const stopsKnown = 0.3

// measured returns a number of stops that is a linear function of the balance.
func (b *balance) measured(stops float64, d [balanceCount]float64) Measurement {
	se := b.se(d)
	if se > stopsKnown {
		return Missing("the picture's range of light is too small to tell a gain from a lifted black")
	}
	return Measured(stops, math.Hypot(se, balanceFloor))
}

// balanceFloor is the least standard error of a number of stops: rounding to
// code values and the chroma of half size leave as much.
const balanceFloor = 0.001

// se returns the standard error of a linear function of the balance.
func (b *balance) se(d [balanceCount]float64) float64 {
	var v float64
	for i := range d {
		for j := range d {
			v += d[i] * d[j] * b.cov[i][j]
		}
	}
	return math.Sqrt(max(v, 0))
}
