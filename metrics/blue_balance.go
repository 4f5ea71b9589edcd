package metrics

import "nightpair/metrics/stat"

var blueBalance = Metric{
	Name: "blue_balance", Unit: "stops", Decimals: 2,
	Doc:   "Blue of the right eye against the left's, less the same of green, in linear light over matched places. Positive: the right eye is bluer.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 5,
	Measure: func(p *Pair) stat.Measurement { return p.againstGreen(2) },
}
