package timing

import "nightpair/metrics/stat"

// clockSE is the largest standard error, in parts per million, of a difference of
// clocks that is worth telling. The project's own choice.
const clockSE = 25

// ClockDrift returns by how many parts per million the right eye's clock runs
// fast: by how much its pictures get later while the clip goes on, at so many
// frames per second.
func ClockDrift(bursts []*Burst, rate float64) stat.Measurement {
	t, reason := FitTiming(bursts)
	switch {
	case t == nil:
		return stat.Missing(reason)
	case len(bursts) < minRateBursts || t.span == 0 || rate <= 0:
		return stat.Missing("too little of the clip was looked at")
	}
	million := 1e6 * 2 / (t.span * rate) // the fit's rate is from the middle to an end
	if t.Se[2]*million > clockSE {
		return stat.Missing("not observable: too little vertical motion, or too short")
	}
	return stat.Measured(t.rate*million, t.Se[2]*million)
}
