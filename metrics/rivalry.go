package metrics

import (
	"math"

	"nightpair/metrics/stat"
)

var rivalry = Metric{
	Name: "rivalry", Unit: "% of picture area", Decimals: 2,
	Doc:   "Share of the picture that matches in shape but not in light, once the difference of exposure, colour and black between the eyes is taken out: reflections that only one camera sees, flare, a vignette, dirt. Never negative.",
	Ideal: 0, Swap: SwapKeep, Conditional: true, Revision: rivalryRevision,
	Measure: func(p *Pair) Measurement {
		m, reason := p.rivalry()
		if m == nil {
			return stat.Missing(reason)
		}
		return stat.Measured(100*m.Share, math.Max(100*m.ShareSE, rivalryFloor))
	},
}

// rivalryFloor is the least standard error, in % of the picture: one small patch.
const rivalryFloor = 0.05
