package metrics

import (
	"slices"

	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
)

// Metric is one thing that can be measured on a stereo pair, always of the
// right eye relative to the left.
type Metric struct {
	Name     string // as in the columns of the CSV files
	Unit     string // as it is written behind a value
	Doc      string // what it is and what a positive value means, in one or two sentences
	Decimals int    // how many are worth showing
	// Ideal is what a perfect pair gives; NaN where the value is a choice of
	// the director's and not an error.
	Ideal float64
	Swap  Swap
	// Partner is the metric whose value this one takes, negated, when the eyes
	// are exchanged (Swap is SwapPartner).
	Partner string
	// Conditional says that a sound clip may well not show it, as a locked-off
	// shot does not show the sync. Then a missing value is no reason to call the
	// clip unmeasured.
	Conditional bool
	// Revision is raised whenever the figures change, so that records made
	// before are measured again.
	Revision int
	// Measure measures one moment. Over measures a whole clip by its bursts, for
	// what takes motion to be seen; a metric has one of the two.
	Measure func(*Pair) stat.Measurement
	Over    func([]*timing.Burst) stat.Measurement
}

// Swap says what exchanging the eyes does to a value.
type Swap uint8

const (
	SwapKeep    Swap = iota // stays as it is
	SwapNegate              // changes its sign
	SwapInvert              // a ratio 1 + v/100 becomes its inverse
	SwapPartner             // becomes the partner's value, negated
)

// All lists every metric, in the order of the reports' columns. It is never
// changed.
var All = []Metric{
	verticalOffset,
	roll,
	zoom,
	keystone,
	tiltKeystone,
	heightStep,
	verticalWorst,
	verticalRest,
	nearParallax,
	farParallax,
	focusParallax,
	edgeViolation,
	exposure,
	redBalance,
	blueBalance,
	blackLift,
	colourDifference,
	softness,
	softnessNear,
	softnessFar,
	focusLeft,
	focusRight,
	rivalry,
	blank,
	clipping,
	noise,
	combing,
	overlay,
	syncOffset,
	readoutSkew,
}

// Lookup finds a metric by its name.
func Lookup(name string) (Metric, bool) {
	i := slices.IndexFunc(All, func(m Metric) bool { return m.Name == name })
	if i < 0 {
		return Metric{}, false
	}
	return All[i], true
}
