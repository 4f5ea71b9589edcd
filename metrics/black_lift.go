package metrics

import (
	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var blackLift = Metric{
	Name: "black_lift", Unit: "% of full scale", Decimals: 2,
	Doc:   "What is added to the signal of one eye, seen against the other after the difference of exposure: a lifted black. Positive: the right eye's blacks are lifted; negative: the left's.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 5,
	Measure: func(p *Pair) stat.Measurement {
		return p.balanced(func(b *light.Balance) stat.Measurement {
			lift, unit := b.BlackLift()
			var d [light.BalanceCount]float64
			for c, share := range light.LiftShares {
				d[3+c] = share / unit
			}
			se := b.SE(d)
			if se > liftKnown {
				return stat.Missing("the picture's range of light is too small to tell a lifted black from a gain")
			}
			return stat.Measured(100*lift, 100*max(se, liftFloor))
		})
	},
}

const (
	// liftKnown is the largest standard error of a lift that says more than was
	// known before.
	liftKnown = light.LiftPriorSE / 3
	// liftFloor is the least standard error of a lift: a twentieth of a code
	// value of 8 bits.
	liftFloor = 0.05 / 255
)
