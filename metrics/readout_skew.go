package metrics

import (
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
)

var readoutSkew = Metric{
	Name: "readout_skew", Unit: "frames, top to bottom", Decimals: 3,
	Doc: "By how much more the bottom of the right eye's picture is late than its top, from vertical motion; over the whole clip. " +
		"A camera that reads its rows in turn and looks into the mirror reads them the other way round. Positive: the delay grows downwards.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 4,
	Over: func(bursts []*timing.Burst) stat.Measurement {
		return timed(bursts, func(t *timing.Timing) (float64, float64) { return t.Skew, t.SE[1] }, timing.SkewSE)
	},
}
