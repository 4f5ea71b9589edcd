package metrics

import (
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
)

var syncOffset = Metric{
	Name: "sync_offset", Unit: "frames", Decimals: 3,
	Doc: "Time by which the right eye is late beyond whole frames, at mid-height, from vertical motion; over the whole clip. " +
		"Positive: the right eye is late, its pictures show what the left one's showed before. Level pans and shots without motion do not show it.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 3,
	Over: func(bursts []*timing.Burst) stat.Measurement {
		return timed(bursts, func(t *timing.Timing) (float64, float64) { return t.Delay, t.SE[0] }, timing.SyncSE)
	},
}

// timed measures something of the fitted timing, unless its standard error
// exceeds worst.
func timed(bursts []*timing.Burst, of func(*timing.Timing) (value, se float64), worst float64) stat.Measurement {
	t, reason := timing.FitTiming(bursts)
	if t == nil {
		return stat.Missing(reason)
	}
	value, se := of(t)
	if se > worst {
		return stat.Missing(timing.NoMotion)
	}
	return stat.Measured(value, se)
}
