package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var combing = Metric{
	Name: "combing", Unit: "% of picture area", Decimals: 2,
	Doc:   "Share of the picture with interlace combing in the right eye, less the same of the left eye: two fields of different times in one frame. Positive: the right eye combs.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: oneEyeRevision,
	Measure: func(p *Pair) Measurement {
		if reason := p.differentSize(); reason != "" {
			return stat.Missing(reason)
		}
		l, r := light.Combed(p.Left), light.Combed(p.Right)
		return stat.Measured(100*(r-l), 100*math.Sqrt(stat.Sq(combShare*max(l, r))+stat.Sq(combFloor)))
	},
}

// combShare is the relative standard error of the area that combs, and combFloor the least
// standard error, as a share of the picture.
const combShare, combFloor = 0.15, 0.0001
