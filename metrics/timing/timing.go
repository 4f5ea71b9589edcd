package timing

import (
	"math"
	"time"

	"nightpair/metrics/geometry"
)

// Timing is by how many frames the right eye is late, as the bursts of a clip show it. A
// camera that exposes late is early in this sense: its pictures show what happens next.
type Timing struct {
	Delay float64 // frames at mid-height, in the middle of the bursts; positive: the right eye is late
	Skew  float64 // frames per picture height by which the delay grows downwards
	rate  float64 // frames by which the delay grows from the middle of the bursts to the last
	// SE holds the standard errors of Delay, Skew and rate; +Inf where noise prevails.
	SE [3]float64

	// like says of Delay, Skew and rate that camera height and forward offset could do the same.
	like [3]bool

	middle time.Duration // between the first burst and the last
	span   float64       // seconds from the first burst to the last
	// displacement is by how much the delay displaces the places of the bursts, up or down,
	// in picture heights: the 95th percentile.
	displacement float64
}

// NoMotion is the reason why a delay is missing where too little moves up or down.
const NoMotion = "not observable: too little vertical motion"

// LikeGeometry is the reason why a delay is missing where things move up or down by as much as
// a difference of the cameras' heights or a forward offset displaces them.
const LikeGeometry = "not observable: a camera higher, lower or further forward would look the same under this motion"

// WhyNot returns the reason why the delay (0) or the skew (1) is not known well enough.
func (t *Timing) WhyNot(i int) string {
	if t.like[i] {
		return LikeGeometry
	}
	return NoMotion
}

// FitTiming fits the timing to the bursts of a clip, or returns nil and the reason why it
// cannot. There must be a burst with places.
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
		if !f.iterate(round > 0) {
			return nil, "the matched places do not fix the timing"
		}
		if math.Abs(f.Coef[timeDelay]) < 1e-4 && math.Abs(f.Coef[timeSkew]) < 1e-4 && math.Abs(f.Coef[timeRate]) < 1e-4 {
			break
		}
		if math.Abs(f.delay) > timingReach {
			if f.like[0] {
				return nil, LikeGeometry
			}
			return nil, "the delay is too long to be measured from place to place"
		}
	}
	if f.Scale > geometry.MaxScatter {
		return nil, "the matched places do not agree"
	}
	return f.result(), ""
}

const (
	// minDisplacement is the displacement, in picture heights, from which on a delay counts
	// as disturbing the geometry of the rig: a fifth of a line of 1080, a small part of what
	// any limit allows. The project's own choice.
	minDisplacement = 0.2 / 1080
	// timingSigmas is how many standard errors away from 0 a value is certainly not 0.
	timingSigmas = 2
)

// SyncSE is the largest standard error, in frames, of a delay that is worth reporting: a
// fifth of a frame is then beyond doubt. The project's own choice.
const SyncSE = 0.1

// SkewSE is the largest standard error, in frames per picture height, of a skew that is
// worth reporting: a third of a fifth of a frame, so that sensors with the same readout
// rarely seem a fifth apart. The project's own choice.
const SkewSE = 0.2 / 3

// known reports whether the delay (0) or the skew (1) is known well enough.
func (t *Timing) known(i int) bool { return t.SE[i] <= [...]float64{SyncSE, SkewSE}[i] }

// Disturbs reports whether the eyes are certainly so far out of sync that the displacement
// would pass for a fault of the rig's geometry.
func (t *Timing) Disturbs() bool {
	sure := t.known(0) && math.Abs(t.rate) > timingSigmas*t.SE[2]
	for i, v := range []float64{t.Delay, t.Skew} {
		sure = sure || t.known(i) && math.Abs(v) > timingSigmas*t.SE[i]
	}
	return sure && t.displacement > minDisplacement
}

// DelayAt returns the delay at mid-height in frames at a time of the clip, with its
// standard error; 0 and 0 where it is not known. Clocks count as drifting apart only where
// that is certain.
func (t *Timing) DelayAt(now time.Duration) (delay, se float64) {
	if !t.known(0) {
		return 0, 0
	}
	if t.span == 0 || math.Abs(t.rate) <= timingSigmas*t.SE[2] {
		return t.Delay, t.SE[0]
	}
	from := 2 * (now - t.middle).Seconds() / t.span
	return t.Delay + t.rate*from, math.Hypot(t.SE[0], t.SE[2]*from)
}

// KnownSkew returns the skew in frames per picture height with its standard error; 0 and 0
// where it is not known.
func (t *Timing) KnownSkew() (skew, se float64) {
	if !t.known(1) {
		return 0, 0
	}
	return t.Skew, t.SE[1]
}
