package timing

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

const (
	// changesAround is how many changes before and after one show the usual change.
	changesAround = 6
	// minUsualChange is the least usual change, in 8-bit code values, against which a
	// smaller or a larger one stands out: several times what coding and averaged noise
	// make.
	minUsualChange = 0.12
	// A frame is a repeat when it changes by at most maxRepeatChange of the usual change
	// while the other eye changes by at least minOtherChange of its own.
	maxRepeatChange = 0.25
	minOtherChange  = 0.5
	// maxFrozenChange is the largest change, in 8-bit code values, of a frame in a long freeze: what
	// coding the same picture once more makes.
	maxFrozenChange = 0.06
)

// meanChanges returns the mean absolute difference of each signature from the one before,
// in 8-bit code values, less what a change of gain and offset explains, as flicker and an iris
// make it; NaN where one of them is missing.
func meanChanges(list []*picture.Signature) []float64 {
	out := make([]float64, len(list))
	for t := range out {
		out[t] = math.NaN()
		if t > 0 && list[t-1] != nil && list[t] != nil {
			out[t] = changeBeyondLight(list[t-1], list[t])
		}
	}
	return out
}

// maxLightGain is the largest change of gain from one frame to the next, up or down, that is taken
// for one of light.
const maxLightGain = 2

// changeBeyondLight returns the mean absolute difference of two signatures about the line that
// takes the one to the other, by least squares.
func changeBeyondLight(before, s *picture.Signature) float64 {
	const n = picture.SignatureWidth * picture.SignatureHeight
	var x, y, xx, xy float64
	for j := range s.Luma {
		for i, v := range s.Luma[j] {
			a, b := float64(before.Luma[j][i]), float64(v)
			x, y, xx, xy = x+a, y+b, xx+a*a, xy+a*b
		}
	}
	gain := 1.0
	if spread := xx - x*x/n; spread > 0 {
		gain = min(max((xy-x*y/n)/spread, 1.0/maxLightGain), maxLightGain)
	}
	offset, sum := (y-gain*x)/n, 0.0
	for j := range s.Luma {
		for i, v := range s.Luma[j] {
			sum += math.Abs(float64(v) - gain*float64(before.Luma[j][i]) - offset)
		}
	}
	return sum / n
}

// usualChange returns the median of the changes around frame t, without its own; NaN where
// there are too few.
func usualChange(changes []float64, t int) float64 {
	var near []float64
	for i := max(t-changesAround, 0); i <= min(t+changesAround, len(changes)-1); i++ {
		if i != t && !math.IsNaN(changes[i]) {
			near = append(near, changes[i])
		}
	}
	if len(near) < changesAround {
		return math.NaN()
	}
	return stat.Median(near)
}

// repeats finds frames of an eye that do not change while the other eye's do, by the mean
// changes of both. Frame t of the one goes with frame t+slip of the other.
func repeats(of, other []float64, slip int, right bool) []FrameFault {
	return runs(len(of), right, Repeated, func(t int) bool { return repeatsAt(of, other, t, t+slip) })
}

// repeatsAt reports whether an eye's frame t does not change while the other eye's frame o
// does.
func repeatsAt(of, other []float64, t, o int) bool {
	if o < 0 || o >= len(other) || math.IsNaN(of[t]) || math.IsNaN(other[o]) {
		return false
	}
	usual := usualChange(other, o)
	if !(usual > minUsualChange) || other[o] < minOtherChange*usual {
		return false
	}
	// What moves moves in both eyes: an eye that shakes, and rests for a frame, still shows it.
	if of[t] > minOtherChange*other[o] {
		return false
	}
	// Where little moves, coding may leave out the change in both files, though not at once.
	for _, beside := range []int{o - 1, o + 1} {
		if beside >= 0 && beside < len(other) && other[beside] <= maxRepeatChange*usual {
			return false
		}
	}
	// Within a long freeze the changes around are small, too: then the other eye's usual
	// change is taken, and what is the same frame must hardly change at all. An eye that rests
	// while the other one shakes is not frozen.
	own := usualChange(of, t)
	if math.IsNaN(own) || own < minOtherChange*usual {
		return of[t] <= min(maxRepeatChange*minOtherChange*usual, maxFrozenChange)
	}
	return of[t] <= maxRepeatChange*own
}

// explainedByStep reports whether a repeat is none after all: by the slip that the faults
// before it leave, the other eye does not change there either. At returns a fault's left
// frame.
func explainedByStep(h FrameFault, l, r []float64, slip int, list []FrameFault, at func(FrameFault) int) bool {
	if h.Kind != Repeated {
		return false
	}
	for _, g := range list {
		if g.StepKnown && at(g) < at(h) {
			slip += g.Step
		}
	}
	if h.Right {
		return !repeatsAt(r, l, h.Frame, h.Frame-slip)
	}
	return !repeatsAt(l, r, h.Frame, h.Frame+slip)
}
