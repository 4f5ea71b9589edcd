package focus

import (
	"math"

	"nightpair/metrics/stat"
)

// aligner reads patches of a right picture that is turned or enlarged against the left
// one, as large and as upright as the left eye shows them. What it reads between pixels
// keeps its power up to alignedLast cycles per pixel: it must not be taken for blur.
type aligner struct {
	cos, sin float64 // times the scale
	taps     *[alignSteps + 1][alignTaps]float32
}

const (
	// uprightWithin is how far, in bins, a patch's edge may lie off before it is aligned.
	uprightWithin = 0.15
	alignTaps     = 16
	alignSteps    = 256 // places told apart between two bins
	// alignedLast is the finest detail, in cycles per bin, that it keeps to 0.2 % of its
	// power.
	alignedLast = 0.42
)

// newAligner returns nil for pictures that need none.
func newAligner(cos, sin float64, n int) *aligner {
	if math.Hypot(cos-1, sin)*float64(n)/2 < uprightWithin {
		return nil
	}
	a := &aligner{cos: cos, sin: sin, taps: new([alignSteps + 1][alignTaps]float32)}
	for s := range a.taps {
		at := float64(s)/alignSteps + alignTaps/2 - 1
		var sum float64
		var w [alignTaps]float64
		for i := range w {
			d := float64(i) - at
			w[i] = sinc(d) * kaiser(d/(alignTaps/2))
			sum += w[i]
		}
		for i := range w {
			a.taps[s][i] = float32(w[i] / sum)
		}
	}
	return a
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// kaiser is the window of J. F. Kaiser, 1974, from −1 to 1, for a ripple of a thousandth.
func kaiser(x float64) float64 {
	const beta = 6
	if x <= -1 || x >= 1 {
		return 0
	}
	return bessel0(beta*math.Sqrt(1-x*x)) / bessel0(beta)
}

// bessel0 is the modified Bessel function of the first kind of order 0, by its series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-12*sum; k++ {
		term *= stat.Sq(x / 2 / k)
		sum += term
	}
	return sum
}

// room returns how many bins around a patch of the size are looked at: none without an
// aligner.
func (a *aligner) room(wide, high int) int {
	if a == nil {
		return 0
	}
	reach := max(math.Abs(a.cos-1)*float64(wide)+math.Abs(a.sin)*float64(high), math.Abs(a.cos-1)*float64(high)+math.Abs(a.sin)*float64(wide))
	return alignTaps/2 + 2 + int(math.Ceil(reach))
}

// read takes a patch from the middle of src, which is larger by room on all sides, off
// by (dx, dy) bins: across first and then down (E. Catmull, A. R. Smith, 1980). It uses
// work, as high as src and as wide as the patch, as memory.
func (a *aligner) read(dst, src, work []float32, wide, high, room int, dx, dy float64) {
	cu, cv := float64(wide-1)/2, float64(high-1)/2
	w, h := wide+2*room, high+2*room
	step, slope := a.cos+stat.Sq(a.sin)/a.cos, a.sin/a.cos
	for y := range h {
		row, out := src[y*w:][:w], work[y*wide:][:wide]
		at := float64(room) + cu + dx - step*cu - slope*(float64(y-room)-cv-dy)
		for x := range out {
			i := int(at)
			t := &a.taps[int((at-float64(i))*alignSteps+0.5)]
			var sum float32
			for j, v := range row[i-alignTaps/2+1:][:alignTaps] {
				sum += t[j] * v
			}
			out[x] = sum
			at += step
		}
	}
	for y := range high {
		out := dst[y*wide:][:wide]
		at := float64(room) + cv + dy - a.sin*cu + a.cos*(float64(y)-cv)
		for x := range out {
			i := int(at)
			t := &a.taps[int((at-float64(i))*alignSteps+0.5)]
			var sum float32
			for j := range t {
				sum += t[j] * work[(i-alignTaps/2+1+j)*wide+x]
			}
			out[x] = sum
			at += a.sin
		}
	}
}
