package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var combing = Metric{
	Name: "combing", Unit: "% of picture area", Decimals: 2,
	Doc:   "How much more of the right eye's picture than of the left's falls apart into alternate lines, as two fields of a moving picture woven into one frame do. Positive: the right eye combs.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 2,
	Measure: func(p *Pair) stat.Measurement {
		if reason := p.unlikeSize(); reason != "" {
			return stat.Missing(reason)
		}
		l, r := light.Combed(p.Left), light.Combed(p.Right)
		return stat.Measured(100*(r-l), 100*math.Sqrt(stat.Sq(combShare*max(l, r))+stat.Sq(combFloor)))
	},
}

// combShare is the uncertain part of what combs, and combFloor the least, as a
// share of the picture.
const combShare, combFloor = 0.15, 0.0001
