package metrics

var blackLift = Metric{
	Name: "black_lift", Unit: "% of full scale", Decimals: 2,
	Doc:   "What is added to the signal of one eye, seen against the other after the difference of exposure: a lifted black. Positive: the right eye's blacks are lifted; negative: the left's.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 5,
	Measure: func(p *Pair) Measurement {
		return p.balanced(func(b *balance) Measurement {
			lift, unit := b.blackLift()
			var d [balanceCount]float64
			for c, share := range liftShares {
				d[3+c] = share / unit
			}
			se := b.se(d)
			if se > liftKnown {
				return Missing("the picture's range of light is too small to tell a lifted black from a gain")
			}
			return Measured(100*lift, 100*max(se, liftFloor))
		})
	},
}

const (
	// liftKnown is the largest standard error of a lift that says more than was
	// known before.
	liftKnown = liftSE / 3
	// liftFloor is the least standard error of a lift: a twentieth of a code
	// value of 8 bits.
	liftFloor = 0.05 / 255
)

// liftShares is how the lifts of red, green and blue make up one number: by
// what they do to the brightness (Rec. ITU-R BT.709).
var liftShares = [3]float64{0.2126, 0.7152, 0.0722}

// blackLift returns the lift, and the unit in which it is counted. Only the sum
// over both eyes can be seen, s′ = slope·s + lift; the eye whose blacks come
// out higher is taken for the lifted one, and a lift of the left eye arrives
// in the right eye's signals enlarged by the slope.
func (b *balance) blackLift() (lift, unit float64) {
	for c, share := range liftShares {
		lift += share * b.lift[c]
	}
	if lift >= 0 {
		return lift, 1
	}
	e := b.transfer.exposed(b.stops[1])
	unit = e.slope
	if e.bent {
		const h = 0.01
		unit = (e.of(darkest+h) - e.of(darkest)) / h
	}
	return lift / unit, unit
}
