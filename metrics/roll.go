package metrics

import "math"

var roll = Metric{
	Name: "roll", Unit: "°", Decimals: 3,
	Doc:   "Turn of the right eye's picture against the left's about the line of sight. Positive: clockwise.",
	Ideal: 0, Swap: SwapNegate, Revision: 4,
	Measure: func(p *Pair) Measurement {
		return p.fitted(func(g *geometry) (float64, terms) {
			const degrees = 180 / math.Pi
			return degrees * g.roll(), terms{termRoll: degrees}
		})
	},
}
