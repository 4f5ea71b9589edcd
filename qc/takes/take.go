package takes

import "math"

// Take is what is known of one take of one camera.
type Take struct {
	// Timecode is the label of the first frame in seconds from midnight, and Created when
	// the camera's clock says that the take began, in seconds from any moment; NaN where the
	// file does not say.
	Timecode, Created float64
	Length            float64 // seconds; 0 where unknown
}

const day = 24 * 3600 // seconds

// continuous is how far in seconds a take's timecode may be from where the take before ended
// and yet run on, or from where that began and yet begin anew.
const continuous = 0.2

// withoutCounters returns the takes without timecode where that is no clock: where it runs
// while recording only, or begins anew with most takes. Two takes do not tell.
func withoutCounters(takes []Take) []Take {
	known, on, anew := 0, 0, 0
	for i := 1; i < len(takes); i++ {
		t, before := takes[i], takes[i-1]
		if math.IsNaN(t.Timecode) || math.IsNaN(before.Timecode) {
			continue
		}
		known++
		if math.Abs(around(t.Timecode-before.Timecode-before.Length)) < continuous {
			on++
		}
		if math.Abs(around(t.Timecode-before.Timecode)) < continuous {
			anew++
		}
	}
	out := append([]Take(nil), takes...)
	const most = 0.7
	if known >= 2 && float64(max(on, anew)) >= most*float64(known) {
		for i := range out {
			out[i].Timecode = math.NaN()
		}
	}
	return out
}

// around returns a difference of two times of day the shorter way round midnight.
func around(d float64) float64 {
	return d - day*math.Round(d/day)
}
