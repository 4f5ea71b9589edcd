package record

import (
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
)

// Sync is what was found of the eyes' timing before measuring.
type Sync struct {
	// Scanned is how many frames of the left eye were looked at one after the
	// other. Runs are the stretches that they lie in where these are not all that both eyes
	// have.
	Scanned int              `json:"scanned"`
	Runs    []timing.Stretch `json:"runs,omitempty"`
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
	// Unclear lists the beginning and the end of the clip, as left frames, where the pictures
	// do not tell the slip.
	Unclear []timing.Stretch `json:"unclear,omitempty"`
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

// Watched is what looking at every frame found of a clip of which [Sync] knows runs only; it
// takes their place.
type Watched struct {
	Scanned int                 `json:"scanned"`
	Start   int                 `json:"start"`
	Faults  []timing.FrameFault `json:"faults,omitempty"`
	Unclear []timing.Stretch    `json:"unclear,omitempty"`
	Cuts    []Cut               `json:"cuts,omitempty"`
}

// Take puts what every frame showed in the place of what runs did.
func (s *Sync) Take(w Watched) {
	s.Scanned, s.Runs = w.Scanned, nil
	s.Start, s.Faults, s.Unclear, s.Cuts = w.Start, w.Faults, w.Unclear, w.Cuts
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

// stretches returns the slips that hold one after the other, with the left frames From …
// To−1 of a clip of so many frames for which each does.
func (s Sync) stretches(frames int) (list []timing.Stretch, slips []int) {
	for i := range frames {
		if slip := s.SlipAt(i); i == 0 || slip != slips[len(slips)-1] {
			list, slips = append(list, timing.Stretch{From: i, To: i}), append(slips, slip)
		}
		list[len(list)-1].To++
	}
	return list, slips
}

// Safe returns the slip by which the eyes may be put in step over a clip of so many left
// frames without putting any stretch further out: the given one where that is so, or the one
// that holds longest of the others, or 0.
func (s Sync) Safe(slip, frames int) int {
	list, slips := s.stretches(frames)
	if s.safe(slip, slips) {
		return slip
	}
	longest := 0
	slip = 0
	for i, h := range list {
		if n := h.To - h.From; n > longest && s.safe(slips[i], slips) {
			longest, slip = n, slips[i]
		}
	}
	return slip
}

// safe reports whether a slip puts no stretch further out of step.
func (s Sync) safe(slip int, slips []int) bool {
	return !slices.ContainsFunc(slips, func(at int) bool { return stat.Abs(at-slip) > stat.Abs(at) })
}

// DoubtfulSlip returns the left frames that slipping the right eye may put further out of
// step, as the pictures do not show their slip: a step of some frames may hide there.
func (r Record) DoubtfulSlip() []timing.Stretch {
	if slip := r.Header.Setup.Slip; slip == 0 || stat.Abs(slip) > 2*timing.StepReach {
		return nil
	}
	return r.Header.Sync.Unclear
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
