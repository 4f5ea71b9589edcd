package metrics

var verticalOffset = Metric{
	Name: "vertical_offset", Unit: "% of picture height", Decimals: 3,
	Doc:   "Vertical disparity at the picture's centre of what lies at zero parallax. Positive: the right eye's picture sits lower.",
	Ideal: 0, Swap: SwapNegate, Revision: 4,
	Measure: func(p *Pair) Measurement {
		return p.fitted(func(g *geometry) (float64, terms) {
			return 100 * g.offset(), terms{termOffset: 100}
		})
	},
}

// fitted measures something of the fitted geometry of the rig: its value, and the linear
// function of the terms that it is nearly, for its standard error.
func (p *Pair) fitted(of func(g *geometry) (float64, terms)) Measurement {
	g, reason := p.rig()
	if g == nil {
		return Missing(reason)
	}
	value, d := of(g)
	return Measured(value, g.se(d))
}
