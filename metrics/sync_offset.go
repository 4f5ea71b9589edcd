package metrics

import (
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
)

var syncOffset = Metric{
	Name: "sync_offset", Unit: "frames", Decimals: 3,
	Doc: "Sub-frame delay of the right eye at mid-height, beyond whole frames, from vertical motion over the whole clip. " +
		"Positive: the right eye is late, its pictures show what the left one's showed before. Level pans and shots without motion do not show it.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: syncRevision,
	Over: func(bursts []*Burst) Measurement {
		return timed(bursts, 0, func(t *timing.Timing) (float64, float64) { return t.Delay, t.SE[0] }, timing.SyncSE)
	},
}

// timed measures something of the fitted timing, the delay (0) or the skew (1); it is missing
// where its standard error exceeds maxSE.
func timed(bursts []*Burst, which int, of func(*timing.Timing) (value, se float64), maxSE float64) Measurement {
	t, reason := timing.FitTiming(bursts)
	if t == nil {
		return stat.Missing(reason)
	}
	value, se := of(t)
	if se > maxSE {
		return stat.Missing(t.WhyNot(which))
	}
	return stat.Measured(value, se)
}
