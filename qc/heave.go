package qc

import (
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
)

// How far out of time eyes well are that nobody has locked or turned alike: half a
// frame, and by the readout of a common sensor 0.4 frame from top to bottom, 16 ms
// at 25 frames a second. The project's own choice.
const (
	unlockedDelay = 0.5
	unlockedSkew  = 0.4
)

// heaveWords is what to add to a finding that sync may explain.
const heaveWords = " The picture moves so steadily that eyes out of time would look the same: check the synchronisation first."

// Heave is how the picture moves as a whole, and how far out of time the eyes may be
// for all that the clip shows.
type Heave struct {
	timing.VerticalMotion
	// Delay is by how many frames, either way, one eye may be late at mid-height,
	// beyond what was found and undone; Skew how much more per picture height.
	Delay float64 `json:"delay"`
	Skew  float64 `json:"skew"`
}

// heaveOf returns the heave in the bursts beside what their metrics tell of the
// timing, or nil when there are none.
func heaveOf(bursts []*timing.Burst, delay, skew stat.Measurement) *Heave {
	moves := timing.VerticalMotionOf(bursts)
	if moves == nil {
		return nil
	}
	h := &Heave{VerticalMotion: *moves, Delay: unlockedDelay, Skew: unlockedSkew}
	if delay.OK() {
		h.Delay = sure * delay.SE
	}
	if skew.OK() {
		h.Skew = sure * skew.SE
	}
	return h
}

// explains reports whether eyes out of time, as far as the clip leaves it open,
// could make up by which a value exceeds a limit, and most of what is uncertain of it.
func (s Sync) explains(l Limit, value stat.Measurement) bool {
	if s.Heave == nil || l.Statistic != Median && l.Statistic != Drift {
		return false
	}
	most := 0.0
	switch h := s.Heave; l.Metric {
	case "vertical_offset":
		most = h.Delay * h.Offset
	case "roll":
		most = h.Delay * h.Roll
	case "zoom":
		most = h.Delay*h.Zoom + h.Skew*h.Offset
	case "vertical_worst":
		most = (h.Delay + h.Skew/2) * h.Offset
	}
	return most > max(l.excess(value.Value), sure*value.SE/2)
}
