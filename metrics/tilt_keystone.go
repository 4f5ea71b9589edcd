package metrics

var tiltKeystone = Metric{
	Name: "tilt_keystone", Unit: "% of picture height, at the top edge", Decimals: 3,
	Doc:   "Vertical disparity that grows with y², as a camera tilted against the other makes it. Positive: at the top and bottom edges the right eye's picture sits lower than at half height.",
	Ideal: 0, Swap: SwapNegate, Revision: 4,
	Measure: func(p *Pair) Measurement {
		return p.fitted(func(g *geometry) (float64, terms) {
			return 25 * g.terms[termTilt], terms{termTilt: 25}
		})
	},
}
