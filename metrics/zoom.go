package metrics

import "math"

var zoom = Metric{
	Name: "zoom", Unit: "%", Decimals: 3,
	Doc:   "Size of the right eye's picture against the left's. Positive: the right eye's picture is larger.",
	Ideal: 0, Swap: SwapInvert, Revision: 1,
	Measure: func(p *Pair) Measurement {
		g, reason := p.geometry()
		if g == nil {
			return Missing(reason)
		}
		// A picture scaled by s and turned by γ shows a height y at
		// y·(s/cos γ − 1) + x'·tan γ.
		size := (1 + g.terms[termZoom]) * math.Cos(math.Atan(g.terms[termRoll]))
		return Measured(100*(size-1), g.se(terms{termZoom: 100}))
	},
}
