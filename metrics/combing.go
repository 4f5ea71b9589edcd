package metrics

import "math"

var combing = Metric{
	Name: "combing", Unit: "% of picture area", Decimals: 2,
	Doc:   "How much more of the right eye's picture than of the left's falls apart into alternate lines, as two fields of a moving picture woven into one frame do. Positive: the right eye combs.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 2,
	Measure: func(p *Pair) Measurement {
		if reason := p.unlikeSize(); reason != "" {
			return Missing(reason)
		}
		l, r := combed(p.Left), combed(p.Right)
		return Measured(100*(r-l), 100*math.Sqrt(sq(combShare*max(l, r))+sq(combFloor)))
	},
}

// combShare is the uncertain part of what combs, and combFloor the least, as a
// share of the picture.
const combShare, combFloor = 0.15, 0.0001
