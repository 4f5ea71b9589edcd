package metrics

var zoom = Metric{
	Name: "zoom", Unit: "%", Decimals: 3,
	Doc:   "Size of the right eye's picture against the left's. Positive: the right eye's picture is larger.",
	Ideal: 0, Swap: SwapInvert, Revision: 4,
	Measure: func(p *Pair) Measurement {
		return p.fitted(func(g *geometry) (float64, terms) {
			return 100 * g.zoom(), terms{termZoom: 100}
		})
	},
}
