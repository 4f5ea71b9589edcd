package metrics

var syncOffset = Metric{
	Name: "sync_offset", Unit: "frames", Decimals: 3,
	Doc: "Time by which the right eye is late beyond whole frames, at mid-height, from vertical motion; over the whole clip. " +
		"Positive: the right eye is late, its pictures show what the left one's showed before. Level pans and shots without motion do not show it.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 3,
	Over: func(bursts []*Burst) Measurement {
		return timed(bursts, func(t *Timing) (float64, float64) { return t.delay, t.se[0] }, syncSE)
	},
}

// timed measures something of the fitted timing, unless its standard error
// exceeds worst.
func timed(bursts []*Burst, of func(*Timing) (value, se float64), worst float64) Measurement {
	t, reason := FitTiming(bursts)
	if t == nil {
		return Missing(reason)
	}
	value, se := of(t)
	if se > worst {
		return Missing(noMotion)
	}
	return Measured(value, se)
}
