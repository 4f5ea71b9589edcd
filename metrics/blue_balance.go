package metrics

var blueBalance = Metric{
	Name: "blue_balance", Unit: "stops", Decimals: 2,
	Doc:   "Blue of the right eye against the left's, less the same of green, in linear light over matched places. Positive: the right eye is bluer.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: balanceRevision,
	Measure: func(p *Pair) Measurement { return p.againstGreen(2) },
}
