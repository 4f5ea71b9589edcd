package history

import (
	"nightpair/metrics"
	"nightpair/metrics/geometry"
)

// ClockDrift is the name of the fact that tells how the eyes' clocks run apart.
const ClockDrift = "clock_drift"

// Term is one thing that is followed.
type Term struct {
	Name string // of the metric or fact, whose unit it has
	// Rig says that it is the geometry of the rig, told by the states of the moments.
	Rig bool
	// term is its coefficient, and depth the one of what it changes by with parallax, 0 for
	// none. scale and depthScale make them the metric's values, given the picture's aspect
	// ratio, with parallax in % of its width.
	term, depth       int
	scale, depthScale func(aspect float64) float64
	// slope is the metric of what it changes by with parallax, empty where there is none.
	slope string
}

// Terms lists what is followed, in the order in which a rig is lined up: height and tilt, roll,
// focal length, convergence, then light, focus and timing. It is never changed.
var Terms = []Term{
	{Name: metrics.VerticalOffset, Rig: true, term: geometry.TermOffset, scale: times(100),
		depth: geometry.TermHeight, depthScale: func(aspect float64) float64 { return aspect }, slope: metrics.HeightStep},
	{Name: metrics.TiltKeystone, Rig: true, term: geometry.TermTilt, scale: times(25)},
	{Name: metrics.Roll, Rig: true, term: geometry.TermRoll, scale: times(degrees)},
	{Name: metrics.Zoom, Rig: true, term: geometry.TermZoom, scale: times(100),
		depth: geometry.TermForward, depthScale: func(aspect float64) float64 { return aspect }},
	{Name: metrics.Keystone, Rig: true, term: geometry.TermKeystone, scale: func(aspect float64) float64 { return 25 * aspect },
		depth: geometry.TermBarrel, depthScale: func(aspect float64) float64 { return aspect * aspect / 2 }},
	{Name: metrics.Exposure},
	{Name: metrics.RedBalance},
	{Name: metrics.BlueBalance},
	{Name: metrics.BlackLift},
	{Name: metrics.Softness},
	{Name: metrics.SyncOffset},
	{Name: ClockDrift},
}

// Names lists the metrics whose changes the history of the term tells.
func (t Term) Names() []string {
	if t.slope != "" {
		return []string{t.Name, t.slope}
	}
	return []string{t.Name}
}

const degrees = 57.29577951308232 // to a radian

func times(factor float64) func(float64) float64 {
	return func(float64) float64 { return factor }
}

// paired reports whether the term changes with parallax.
func (t Term) paired() bool { return t.depth != 0 }
