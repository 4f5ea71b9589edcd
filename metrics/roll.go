package metrics

import (
	"math"

	"nightpair/metrics/geometry"
)

var roll = Metric{
	Name: "roll", Unit: "°", Decimals: 3,
	Doc:   "Rotation of the right eye's picture against the left's about the line of sight. Positive: clockwise.",
	Ideal: 0, Swap: SwapNegate, Revision: geometryRevision,
	Measure: func(p *Pair) Measurement {
		return p.fitted(func(g *geometry.Fit) (float64, geometry.Terms) {
			const degrees = 180 / math.Pi
			return degrees * g.Roll(), geometry.Terms{geometry.TermRoll: degrees}
		})
	},
}
