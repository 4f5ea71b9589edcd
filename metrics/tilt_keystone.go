package metrics

import "nightpair/metrics/geometry"

var tiltKeystone = Metric{
	Name: "tilt_keystone", Unit: "% of picture height, at the top edge", Decimals: 3,
	Doc:   "Vertical disparity that grows with y², as a camera that is tilted against the other causes it. Positive: at the top and bottom edges the right eye's picture sits lower than at half height.",
	Ideal: 0, Swap: SwapNegate, Revision: geometryRevision,
	Measure: func(p *Pair) Measurement {
		return p.fitted(func(g *geometry.Fit) (float64, geometry.Terms) {
			return 25 * g.Terms[geometry.TermTilt], geometry.Terms{geometry.TermTilt: 25}
		})
	},
}
