package measure

import (
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// How far out of sync eyes may well be that nobody has genlocked or mounted the same way up: half a
// frame, and by the readout of a common sensor 0.4 frame from top to bottom, 16 ms
// at 25 frames a second. The project's own choice.
const (
	unlockedDelay = 0.5
	unlockedSkew  = 0.4
)

// verticalMotion returns how the picture moves in the bursts, beside what their metrics
// tell of the timing; nil when there are none.
func verticalMotion(bursts []*timing.Burst, delay, skew stat.Measurement) *record.MotionBounds {
	moves := timing.VerticalMotionOf(bursts)
	if moves == nil {
		return nil
	}
	m := &record.MotionBounds{VerticalMotion: *moves, Delay: unlockedDelay, Skew: unlockedSkew}
	if delay.OK() {
		m.Delay = record.Sure * delay.SE
	}
	if skew.OK() {
		m.Skew = record.Sure * skew.SE
	}
	return m
}
