package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
)

var heightStep = Metric{
	Name: "height_step", Unit: "% of picture height per 1 % of width of parallax", Decimals: 3,
	Doc:   "Vertical disparity that follows depth, as a camera that stands higher makes it; no shift can mend it. Positive: the right eye sees what is farther away lower.",
	Ideal: 0, Swap: SwapKeep, Conditional: true, Revision: 4,
	Measure: func(p *Pair) stat.Measurement {
		// Where the scene adds little to what was supposed before seeing it, the
		// value would be the supposition.
		const told = 0.5
		if g, _ := p.rig(); g != nil && g.SE(geometry.Terms{geometry.TermHeight: 1}) > told*geometry.PriorSE[geometry.TermHeight] {
			return stat.Missing("the scene has too little depth to tell a camera's height from its tilt")
		}
		return p.fitted(func(g *geometry.Fit) (float64, geometry.Terms) {
			aspect := 2 * p.halfWidth()
			return aspect * g.Terms[geometry.TermHeight], geometry.Terms{geometry.TermHeight: aspect}
		})
	},
}
