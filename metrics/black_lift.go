package metrics

import (
	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var blackLift = Metric{
	Name: "black_lift", Unit: "% of full scale", Decimals: 2,
	Doc:   "Lift of the blacks of one eye against the other: what is added to its signal, besides the difference of exposure. Positive: the right eye's blacks are lifted; negative: the left's.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: balanceRevision,
	Measure: func(p *Pair) Measurement {
		return p.balanced(func(b *light.Balance) Measurement {
			lift, unit := b.BlackLift()
			var d [light.BalanceCount]float64
			for c, share := range light.LiftShares {
				d[3+c] = share / unit
			}
			se := b.SE(d)
			if se > maxLiftSE {
				return stat.Missing("the picture's range of light is too small to tell a lifted black from a gain")
			}
			return stat.Measured(100*lift, 100*max(se, liftFloor))
		})
	},
}

const (
	// maxLiftSE is the largest standard error of a lift that says more than its prior.
	maxLiftSE = light.LiftPriorSE / 3
	// liftFloor is the least standard error of a lift: a twentieth of an 8-bit code value.
	liftFloor = 0.05 / 255
)
