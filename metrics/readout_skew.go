package metrics

import "nightpair/metrics/timing"

var readoutSkew = Metric{
	Name: "readout_skew", Unit: "frames, top to bottom", Decimals: 3,
	Doc: "Rolling shutter: by how much later the right eye is at the bottom of the picture than at the top, from vertical motion over the whole clip. " +
		"The camera that looks into the mirror of a rig is read out the other way round. Positive: the delay grows downwards.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: skewRevision,
	Over: func(bursts []*Burst) Measurement {
		return timed(bursts, 1, func(t *timing.Timing) (float64, float64) { return t.Skew, t.SE[1] }, timing.SkewSE)
	},
}
