package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
)

var tiltKeystone = Metric{
	Name: "tilt_keystone", Unit: "% of picture height, at the top edge", Decimals: 3,
	Doc:   "Vertical disparity that grows with y², as a camera tilted against the other makes it. Positive: at the top and bottom edges the right eye's picture sits lower than at half height.",
	Ideal: 0, Swap: SwapNegate, Revision: 4,
	Measure: func(p *Pair) stat.Measurement {
		return p.fitted(func(g *geometry.Fit) (float64, geometry.Terms) {
			return 25 * g.Terms[geometry.TermTilt], geometry.Terms{geometry.TermTilt: 25}
		})
	},
}
