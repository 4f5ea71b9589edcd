package takes

// Shown is what a take shows over time, as both eyes see and hear it; nil where that was not
// looked at, or is not there.
type Shown struct {
	// Light is the mean of the picture and Motion how much it changes, PictureRate times a
	// second. Each may be in any unit.
	Light  []float64 `json:"light,omitempty"`
	Motion []float64 `json:"motion,omitempty"`
	// Sound is the logarithm of its power, SoundRate times a second.
	Sound []float64 `json:"sound,omitempty"`
}

// Samples per second. Light and the motion of a whole frame change within tenths of a second,
// speech within hundredths.
const (
	PictureRate = 8
	SoundRate   = 25
)

// With returns what is shown together with what else is.
func (s Shown) With(more Shown) Shown {
	if more.Light != nil {
		s.Light, s.Motion = more.Light, more.Motion
	}
	if more.Sound != nil {
		s.Sound = more.Sound
	}
	return s
}
