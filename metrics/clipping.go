package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var clipping = Metric{
	Name: "clipping", Unit: "% of picture area", Decimals: 2,
	Doc:   "Share of the picture where the right eye is cut off at a ceiling of its own below white, though the left eye shows that it should be brighter, less the same of the left eye. Positive: the right eye clips early.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 6,
	Measure: func(p *Pair) stat.Measurement {
		m, reason := p.unlike()
		if m == nil {
			return stat.Missing(reason)
		}
		return stat.Measured(100*(m.RightClipped-m.LeftClipped), 100*math.Sqrt(clipPatch*max(m.RightClipped, m.LeftClipped, clipPatch)))
	},
}

// ceilings returns the signals at which the left and the right eye are cut off.
func (p *Pair) ceilings() (left, right float32) {
	return light.Ceiling(p.Left, p.left().Full), light.Ceiling(p.Right, p.right().Full)
}

// clipPatch is the share of the picture that one patch more or less is.
const clipPatch = 0.001
