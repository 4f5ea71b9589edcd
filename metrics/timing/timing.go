package timing

import (
	"math"
	"time"

	"nightpair/metrics/geometry"
)

// Timing is by how much the right eye is late, as the bursts of a clip show it: by
// how many frames what its pictures show is older than what the left eye's show.
// A camera that exposes late is early so: its pictures show what happens next.
type Timing struct {
	// In frames: at mid-height in the middle of the bursts; more per picture height
	// downwards; more from their middle to their end.
	Delay, Skew, rate float64
	Se                [3]float64
	middle            time.Duration // of the first burst and the last
	span              float64       // seconds from the first burst to the last
	// shift is by how much the places of the bursts are displaced, up or down, in
	// picture heights: the 95th percentile.
	shift float64
}

const NoMotion = "not observable: too little vertical motion"

// FitTiming fits the timing to the bursts of a clip, or says why it cannot be
// told.
func FitTiming(bursts []*Burst) (*Timing, string) {
	var used []*Burst
	reason := NoMotion
	for _, b := range bursts {
		if b.missing == "" {
			used = append(used, b)
		} else {
			reason = b.missing
		}
	}
	if len(used) == 0 {
		return nil, reason
	}
	f := newTimingFit(used)
	for round := range timingRounds {
		if !f.bring(round > 0) {
			return nil, "the matched places do not fix the timing"
		}
		if math.Abs(f.Coef[timeDelay]) < 1e-4 && math.Abs(f.Coef[timeSkew]) < 1e-4 && math.Abs(f.Coef[timeRate]) < 1e-4 {
			break
		}
		if math.Abs(f.delay) > timingReach {
			return nil, "the delay is too long to be measured from place to place"
		}
	}
	if f.Scale > geometry.MaxScatter {
		return nil, "the matched places do not agree"
	}
	return f.result(), ""
}

const (
	// minShift is by how much, in picture heights, eyes that are out of time must
	// displace what moves for the geometry of the rig to be told apart from it: a
	// fifth of a line of 1080, a small part of what any limit allows. The project's
	// own choice.
	minShift = 0.2 / 1080
	// timingSure is how many standard errors from nothing a delay is one.
	timingSure = 2
)

// told reports whether the delay, or else the skew, is known well enough to be told
// from the geometry of the rig.
func (t *Timing) told(i int) bool { return t.Se[i] <= [...]float64{SyncSE, SkewSE}[i] }

// Disturbs reports whether the eyes are certainly so far out of time that it would
// be taken for a fault of the rig's geometry.
func (t *Timing) Disturbs() bool {
	sure := t.told(0) && math.Abs(t.rate) > timingSure*t.Se[2]
	for i, v := range []float64{t.Delay, t.Skew} {
		sure = sure || t.told(i) && math.Abs(v) > timingSure*t.Se[i]
	}
	return sure && t.shift > minShift
}

// At returns the delay at mid-height at a time of the clip, with its standard
// error; nothing where it is not told. Clocks count as running apart only where
// that is certain.
func (t *Timing) At(now time.Duration) (delay, se float64) {
	if !t.told(0) {
		return 0, 0
	}
	if t.span == 0 || math.Abs(t.rate) <= timingSure*t.Se[2] {
		return t.Delay, t.Se[0]
	}
	from := 2 * (now - t.middle).Seconds() / t.span
	return t.Delay + t.rate*from, math.Hypot(t.Se[0], t.Se[2]*from)
}

// Skewed returns the skew with its standard error; nothing where it is not told.
func (t *Timing) Skewed() (skew, se float64) {
	if !t.told(1) {
		return 0, 0
	}
	return t.Skew, t.Se[1]
}

// SyncSE is the largest standard error, in frames, of a delay that is worth
// telling: a fifth of a frame is then beyond doubt. The project's own choice.
const SyncSE = 0.1

// SkewSE is the largest standard error, in frames per picture height, of a skew that is
// worth telling: a third of a fifth of a frame, so that eyes that are read out alike
// are hardly taken for ones that are a fifth apart. The project's own choice.
const SkewSE = 0.2 / 3
