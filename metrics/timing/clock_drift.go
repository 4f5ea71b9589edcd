package timing

import "nightpair/metrics/stat"

// maxClockSE is the largest standard error, in parts per million, of a difference of clocks
// that is worth reporting. The project's own choice.
const maxClockSE = 25

// ClockDrift returns by how many parts per million the delay of the right eye grows over
// the clip, at rate frames per second; positive where the right eye gets later. It is
// missing with fewer than minRateBursts bursts, or without enough vertical motion.
func ClockDrift(bursts []*Burst, rate float64) stat.Measurement {
	t, reason := FitTiming(bursts)
	switch {
	case t == nil:
		return stat.Missing(reason)
	case len(bursts) < minRateBursts || t.span == 0 || rate <= 0:
		return stat.Missing("too little of the clip was looked at")
	}
	million := 1e6 * 2 / (t.span * rate) // the fit's rate is from the middle to an end
	if t.SE[2]*million > maxClockSE {
		return stat.Missing("not observable: too little vertical motion, or too short")
	}
	return stat.Measured(t.rate*million, t.SE[2]*million)
}
