package metrics

import "slices"

// Metric is one thing that can be measured on a stereo pair, always of the right eye
// relative to the left.
type Metric struct {
	Name     string // as in the columns of the CSV files
	Unit     string // as printed behind a value
	Doc      string // what it is and what a positive value means, in one or two sentences
	Decimals int    // how many are worth showing
	// Ideal is the value of a perfect pair; NaN where the value is the director's choice and
	// not an error.
	Ideal float64
	Swap  Swap
	// Partner is the metric whose value this one takes, negated, when the eyes are exchanged.
	// It is set where Swap is SwapPartner.
	Partner string
	// Conditional says that a clean clip may not show it, as a locked-off shot does not show
	// the sync. Then a missing value does not make the clip count as unmeasured.
	Conditional bool
	// Revision is raised whenever the figures change, so that records made before are
	// measured again.
	Revision int
	// Measure measures one moment, Over a whole clip by its bursts, for what takes motion to
	// be seen. A metric has one of the two.
	Measure func(*Pair) Measurement
	Over    func([]*Burst) Measurement
}

// Swap says what exchanging the eyes does to a value.
type Swap uint8

const (
	SwapKeep    Swap = iota // it stays as it is
	SwapNegate              // it changes its sign
	SwapInvert              // it is a ratio 1 + v/100, which becomes its inverse
	SwapPartner             // it becomes the partner's value, negated
)

// All lists every metric, in the order of the columns of reports. It must not be changed.
var All = []Metric{
	verticalOffset,
	roll,
	zoom,
	keystone,
	tiltKeystone,
	heightStep,
	heightSpread,
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

// Lookup finds a metric by its name; it reports false where there is none.
func Lookup(name string) (Metric, bool) {
	i := slices.IndexFunc(All, func(m Metric) bool { return m.Name == name })
	if i < 0 {
		return Metric{}, false
	}
	return All[i], true
}
