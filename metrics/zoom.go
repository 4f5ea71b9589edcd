package metrics

import "nightpair/metrics/geometry"

var zoom = Metric{
	Name: "zoom", Unit: "%", Decimals: 3,
	Doc:   "Difference of size of the right eye's picture from the left's, at the scene's own parallax. Positive: the right eye's picture is larger.",
	Ideal: 0, Swap: SwapInvert, Revision: geometryRevision,
	Measure: func(p *Pair) Measurement {
		return p.fitted(func(g *geometry.Fit) (float64, geometry.Terms) {
			return 100 * g.Zoom(), geometry.Terms{geometry.TermZoom: 100}
		})
	},
}
