package metrics

import (
	"math"

	"nightpair/metrics/stat"
)

var focusParallax = Metric{
	Name: "focus_parallax", Unit: "% of picture width", Decimals: 2,
	Doc: "Parallax of what is sharpest in the left picture. Positive: behind the screen. " +
		"Zero for a test target at the distance on which the cameras converge; missing where everything is equally sharp.",
	Ideal: math.NaN(), Swap: SwapNegate, Conditional: true, Revision: focusParallaxRevision,
	Measure: func(p *Pair) Measurement {
		m, reason := p.depth()
		if m == nil {
			return stat.Missing(reason)
		}
		return m.Focus(p.Left, p.left().Full, p.leftNoise)
	},
}
