package metrics

import "nightpair/metrics/geometry"

var verticalOffset = Metric{
	Name: "vertical_offset", Unit: "% of picture height", Decimals: 3,
	Doc:   "Vertical disparity at the centre of the picture, of what lies at the scene's own parallax: the mean over what was matched. Positive: the right eye's picture sits lower.",
	Ideal: 0, Swap: SwapNegate, Revision: geometryRevision,
	Measure: func(p *Pair) Measurement {
		return p.fitted(func(g *geometry.Fit) (float64, geometry.Terms) {
			return 100 * g.Offset(), geometry.Terms{geometry.TermOffset: 100}
		})
	},
}
