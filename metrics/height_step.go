package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
)

var heightStep = Metric{
	Name: "height_step", Unit: "% of picture height per 1 % of width of parallax", Decimals: 3,
	Doc:   "Vertical disparity that changes with depth, because one camera stands higher than the other; no shift corrects it. Positive: the right eye sees what is farther away lower.",
	Ideal: 0, Swap: SwapKeep, Conditional: true, Revision: geometryRevision,
	Measure: func(p *Pair) Measurement {
		// Where the scene adds little to the prior, the value would be that of the prior.
		const maxPriorShare = 0.5
		if g, _ := p.rig(); g != nil && g.SE(geometry.Terms{geometry.TermHeight: 1}) > maxPriorShare*geometry.PriorSE[geometry.TermHeight] {
			return stat.Missing("the scene has too little depth to tell a camera's height from its tilt")
		}
		return p.fitted(func(g *geometry.Fit) (float64, geometry.Terms) {
			aspect := 2 * p.halfWidth()
			return aspect * g.Terms[geometry.TermHeight], geometry.Terms{geometry.TermHeight: aspect}
		})
	},
}
