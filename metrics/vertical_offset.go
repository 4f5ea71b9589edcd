package metrics

var verticalOffset = Metric{
	Name: "vertical_offset", Unit: "% of picture height", Decimals: 3,
	Doc:   "Vertical disparity at the picture's centre of what lies at zero parallax. Positive: the right eye's picture sits lower.",
	Ideal: 0, Swap: SwapNegate, Revision: 1,
	Measure: func(p *Pair) Measurement {
		return p.term(terms{termOffset: 100})
	},
}

// term measures a linear function of the fitted coefficients.
func (p *Pair) term(d terms) Measurement {
	g, reason := p.geometry()
	if g == nil {
		return Missing(reason)
	}
	return Measured(g.dot(d), g.se(d))
}
