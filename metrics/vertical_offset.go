package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
)

var verticalOffset = Metric{
	Name: "vertical_offset", Unit: "% of picture height", Decimals: 3,
	Doc:   "Vertical disparity at the picture's centre of what lies at zero parallax. Positive: the right eye's picture sits lower.",
	Ideal: 0, Swap: SwapNegate, Revision: 4,
	Measure: func(p *Pair) stat.Measurement {
		return p.fitted(func(g *geometry.Fit) (float64, geometry.Terms) {
			return 100 * g.Offset(), geometry.Terms{geometry.TermOffset: 100}
		})
	},
}

// fitted measures something of the fitted geometry of the rig: its value, and the linear
// function of the terms that it is nearly, for its standard error.
func (p *Pair) fitted(of func(g *geometry.Fit) (float64, geometry.Terms)) stat.Measurement {
	g, reason := p.rig()
	if g == nil {
		return stat.Missing(reason)
	}
	value, d := of(g)
	return stat.Measured(value, g.SE(d))
}
