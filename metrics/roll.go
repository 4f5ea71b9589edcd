package metrics

import "math"

var roll = Metric{
	Name: "roll", Unit: "°", Decimals: 3,
	Doc:   "Turn of the right eye's picture against the left's about the line of sight. Positive: clockwise.",
	Ideal: 0, Swap: SwapNegate, Revision: 1,
	Measure: func(p *Pair) Measurement {
		g, reason := p.geometry()
		if g == nil {
			return Missing(reason)
		}
		// A picture turned by an angle shifts by its tangent times x'.
		const degrees = 180 / math.Pi
		return Measured(math.Atan(g.terms[termRoll])*degrees, g.se(terms{termRoll: degrees}))
	},
}
