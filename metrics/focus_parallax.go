package metrics

import (
	"math"

	"nightpair/metrics/stat"
)

var focusParallax = Metric{
	Name: "focus_parallax", Unit: "% of picture width", Decimals: 2,
	Doc: "Parallax of what is sharpest in the left picture. Positive: behind the screen. " +
		"Zero on a chart at the distance on which the cameras converge; not to be told where everything is equally sharp.",
	Ideal: math.NaN(), Swap: SwapNegate, Conditional: true, Revision: 2,
	Measure: func(p *Pair) stat.Measurement {
		m, reason := p.disparity()
		if m == nil {
			return stat.Missing(reason)
		}
		return m.Focus(p.Left, p.left().Full, p.leftNoise)
	},
}
