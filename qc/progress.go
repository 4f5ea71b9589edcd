package qc

import "time"

// Progress is how far a night has come, told whenever something happens.
type Progress struct {
	Event   Event
	Clip    string // the clip that it happened to
	Problem string // why it could not be measured, with ClipFailed and ClipLate

	Clips   int // of the night
	Done    int // of them, those that need nothing more tonight
	Kept    int // of Done, those that were measured in an earlier night
	Failed  int // of Done, those that could not be measured or not in time
	Moments int // measured tonight
	Planned int // to be measured tonight, as far as it is known
	Elapsed time.Duration
}

// Event is what happened.
type Event string

const (
	ClipKept     Event = "kept"     // measured already, nothing has changed
	ClipStarted  Event = "started"  // its measuring process was started
	ClipMoment   Event = "moment"   // a moment was measured
	ClipMeasured Event = "measured" // its record is complete
	ClipFailed   Event = "failed"   // it could not be measured
	ClipLate     Event = "late"     // the night ended before its turn
)

// Rate returns how many moments are measured in a second.
func (p Progress) Rate() float64 {
	if p.Elapsed <= 0 {
		return 0
	}
	return float64(p.Moments) / p.Elapsed.Seconds()
}

// Remaining estimates how long the rest of the night takes at the rate so far;
// unknown before anything was measured.
func (p Progress) Remaining() (remaining time.Duration, known bool) {
	rate := p.Rate()
	if rate == 0 {
		return 0, false
	}
	return time.Duration(float64(max(p.Planned-p.Moments, 0)) / rate * float64(time.Second)), true
}
