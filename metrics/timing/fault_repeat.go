package timing

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

const (
	// hitchNear is how many changes before and after one are its surroundings.
	hitchNear = 6
	// hitchFaint is how large the surroundings' changes must be, in code values,
	// for a change to be missed or found too large among them: several times what
	// coding and averaged noise make.
	hitchFaint = 0.12
	// A frame is a repeat when it changes by less than hitchStill of what is usual
	// there, while the other eye changes by at least hitchMoves of what is usual.
	hitchStill = 0.25
	hitchMoves = 0.5
)

// stirs returns the mean size of the change of each signature against the one
// before, NaN where there is none.
func stirs(list []*picture.Signature) []float64 {
	out := make([]float64, len(list))
	for t := range out {
		out[t] = math.NaN()
		if t == 0 || list[t-1] == nil || list[t] == nil {
			continue
		}
		var sum float64
		for j := range list[t].Luma {
			for i, v := range list[t].Luma[j] {
				sum += math.Abs(float64(v - list[t-1].Luma[j][i]))
			}
		}
		out[t] = sum / (picture.SignatureWidth * picture.SignatureHeight)
	}
	return out
}

// usual returns the median of the changes around one, without itself, NaN when
// there are too few.
func usual(stir []float64, t int) float64 {
	var near []float64
	for i := max(t-hitchNear, 0); i <= min(t+hitchNear, len(stir)-1); i++ {
		if i != t && !math.IsNaN(stir[i]) {
			near = append(near, stir[i])
		}
	}
	if len(near) < hitchNear {
		return math.NaN()
	}
	return stat.Median(near)
}

// repeats finds frames of an eye that do not change while the other eye's do.
// Of's frame t goes with the other's t+slip.
func repeats(of, other []float64, slip int, right bool) []FrameFault {
	return runs(len(of), right, Repeated, func(t int) bool { return rests(of, other, t, t+slip) })
}

// rests reports whether an eye's frame t does not change while the other eye's
// frame o does.
func rests(of, other []float64, t, o int) bool {
	if o < 0 || o >= len(other) || math.IsNaN(of[t]) || math.IsNaN(other[o]) {
		return false
	}
	calm := usual(other, o)
	if !(calm > hitchFaint) || other[o] < hitchMoves*calm {
		return false
	}
	// Within a long freeze the surroundings rest too: what is usual is then what
	// the other eye shows.
	pace := usual(of, t)
	if math.IsNaN(pace) || pace < hitchMoves*calm {
		pace = hitchMoves * calm
	}
	return of[t] <= hitchStill*pace
}

// excused reports whether a repeat is none after all, as the slip has changed
// before it and the other eye rests there too.
func excused(h FrameFault, l, r []float64, slip int, list []FrameFault, at func(FrameFault) int) bool {
	if h.Kind != Repeated {
		return false
	}
	for _, g := range list {
		if g.Known && at(g) < at(h) {
			slip += g.Step
		}
	}
	if h.Right {
		return !rests(r, l, h.Frame, h.Frame-slip)
	}
	return !rests(l, r, h.Frame, h.Frame+slip)
}
