package qc

import "nightpair/metrics"

// How far out of time eyes well are that nobody has locked or turned alike: half a
// frame, and by the readout of a common sensor 0.4 frame from top to bottom, 16 ms
// at 25 frames a second. The project's own choice.
const (
	unlockedDelay = 0.5
	unlockedSkew  = 0.4
)

// heaveWords is what to add to a finding that sync may explain.
const heaveWords = " The picture moves so steadily that eyes out of time would look the same: check the synchronisation first."

// explains reports whether eyes out of time, which the clip does not tell from the
// geometry of the rig, could make up by which a value exceeds a limit.
func (s Sync) explains(l Limit, value metrics.Measurement) bool {
	if s.Heave == nil || l.Statistic != Median && l.Statistic != Drift {
		return false
	}
	most := 0.0
	switch l.Metric {
	case "vertical_offset":
		most = unlockedDelay * s.Heave.Offset
	case "roll":
		most = unlockedDelay * s.Heave.Roll
	case "zoom":
		most = unlockedDelay*s.Heave.Zoom + unlockedSkew*s.Heave.Offset
	case "vertical_worst":
		most = (unlockedDelay + unlockedSkew/2) * s.Heave.Offset
	}
	return most > 0 && l.excess(value.Value) < most
}
