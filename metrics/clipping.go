package metrics

import (
	"math"

	"nightpair/metrics/stat"
)

var clipping = Metric{
	Name: "clipping", Unit: "% of picture area", Decimals: 2,
	Doc:   "Share of the picture where the right eye clips below white though the left eye shows that it should be brighter, less the same of the left eye. Positive: the right eye clips early.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: rivalryRevision,
	Measure: func(p *Pair) Measurement {
		m, reason := p.rivalry()
		if m == nil {
			return stat.Missing(reason)
		}
		return stat.Measured(100*(m.RightClipped-m.LeftClipped), 100*math.Sqrt(clipPatch*max(m.RightClipped, m.LeftClipped, clipPatch)))
	},
}

// clipPatch is the area of one patch as a share of the picture.
const clipPatch = 0.001
