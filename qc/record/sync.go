package record

import (
	"math"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
)

// Sync is what was found of the eyes' timing before measuring.
type Sync struct {
	// Scanned is how many frames of the left eye were looked at one after the
	// other.
	Scanned int `json:"scanned"`
	// Pictures, Sound and Timecode are by how many frames the right eye's file has
	// the same instants later, as each of them tells.
	Pictures stat.Measurement `json:"pictures"`
	// Rough is what the pictures tell where they do not tell it to the frame.
	Rough    stat.Measurement `json:"rough,omitzero"`
	Sound    stat.Measurement `json:"sound"`
	Timecode stat.Measurement `json:"timecode"`
	// Start is the slip at the left eye's first frame; frame faults may change it.
	Start int `json:"start"`
	// Faults lists where frames of one eye were dropped, repeated or black, by the
	// numbers of the files' frames.
	Faults []timing.FrameFault `json:"hitches,omitempty"`
	// Cuts lists where the shots within a file begin, all but the first.
	Cuts []Cut `json:"cuts,omitempty"`
	// Clock is by how many parts per million the right eye's clock runs fast,
	// so that it gets late.
	Clock stat.Measurement `json:"clock"`
	// Motion tells what eyes out of time may pass off as a fault of the rig; nil where
	// the picture does not move.
	Motion *MotionBounds `json:"heave,omitempty"`
	// Values holds an entry for each metric that takes a whole clip, by name.
	Values map[string]stat.Measurement `json:"values,omitempty"`
}

// TimecodeFits reports whether the slip by timecode may be the one that the pictures
// tell roughly.
func (s Sync) TimecodeFits() bool {
	return s.Timecode.OK() && math.Abs(s.Timecode.Value-s.Rough.Value) <= 0.5+Sure*s.Rough.SE
}

// SlipAt returns the slip of a left frame, as frame faults change it on the way.
func (s Sync) SlipAt(frame int) int {
	slip := s.Start
	for _, h := range s.Faults {
		at := h.Frame - h.Within
		if h.Right {
			at -= s.Start
		}
		if h.StepKnown && frame >= at {
			slip += h.Step
		}
	}
	return slip
}

// Delay returns by how many frames the right eye is late at mid-height, beyond whole
// ones, and Skew by how many more per picture height.
func (s Sync) Delay() stat.Measurement { return s.Values[metrics.SyncOffset] }
func (s Sync) Skew() stat.Measurement  { return s.Values[metrics.ReadoutSkew] }

// Why nothing is known that takes consecutive frames.
const (
	NotScanned   = "the frames were not looked at one by one"
	VariableRate = "a file has a variable frame rate"
)

// MotionBounds is how the picture moves as a whole, as when a camera tilts or rides
// on a crane, and how far out of time the eyes may be for all that the clip shows.
type MotionBounds struct {
	timing.VerticalMotion
	// Delay is by how many frames, either way, one eye may be late at mid-height,
	// beyond what was found and undone; Skew how much more per picture height.
	Delay float64 `json:"delay"`
	Skew  float64 `json:"skew"`
}
