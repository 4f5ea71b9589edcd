package focus

import (
	"math"

	"nightpair/metrics/stat"
)

// aligner resamples patches of a right picture that is turned or enlarged against the
// left one, to the size and the orientation that the left eye shows. A sinc filter under
// a Kaiser window keeps the power up to alignedFrequency cycles per bin, so that
// interpolation does not pass for blur.
type aligner struct {
	cos, sin float64 // of the right picture's turn, times its scale
	taps     *[alignPhases + 1][alignTaps]float32
}

const (
	// alignFrom is the displacement of a patch's edge, in bins, from which on it is
	// aligned.
	alignFrom   = 0.15
	alignTaps   = 16
	alignPhases = 256 // phases of the interpolation filter, evenly spaced between two bins
	// alignedFrequency is the highest frequency, in cycles per bin, whose power the filter
	// keeps to 0.2 %.
	alignedFrequency = 0.42
)

// newAligner returns an aligner for patches n bins high, nil where the pictures are close
// enough to do without.
func newAligner(cos, sin float64, n int) *aligner {
	if math.Hypot(cos-1, sin)*float64(n)/2 < alignFrom {
		return nil
	}
	a := &aligner{cos: cos, sin: sin, taps: new([alignPhases + 1][alignTaps]float32)}
	for s := range a.taps {
		at := float64(s)/alignPhases + alignTaps/2 - 1
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

// sinc returns sin(πx)/πx.
func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// kaiser is Kaiser's window from −1 to 1, for a ripple of a thousandth (J. F. Kaiser,
// "Nonrecursive digital filter design using the I₀-sinh window function", IEEE
// International Symposium on Circuits and Systems, 1974; from memory).
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

// room returns how many bins around a patch of that size are read: 0 for a nil aligner.
func (a *aligner) room(wide, high int) int {
	if a == nil {
		return 0
	}
	reach := max(math.Abs(a.cos-1)*float64(wide)+math.Abs(a.sin)*float64(high), math.Abs(a.cos-1)*float64(high)+math.Abs(a.sin)*float64(wide))
	return alignTaps/2 + 2 + int(math.Ceil(reach))
}

// read resamples the patch in the middle of src, which is larger by room on all sides,
// displaced by (dx, dy) bins. It filters in two passes, across and then down (E. Catmull,
// A. R. Smith, "3-D transformations of images in scanline order", SIGGRAPH 1980; from
// memory). work is scratch, as high as src and as wide as the patch.
func (a *aligner) read(dst, src, work []float32, wide, high, room int, dx, dy float64) {
	cu, cv := float64(wide-1)/2, float64(high-1)/2
	w, h := wide+2*room, high+2*room
	step, slope := a.cos+stat.Sq(a.sin)/a.cos, a.sin/a.cos
	for y := range h {
		row, out := src[y*w:][:w], work[y*wide:][:wide]
		at := float64(room) + cu + dx - step*cu - slope*(float64(y-room)-cv-dy)
		for x := range out {
			i := int(at)
			t := &a.taps[int((at-float64(i))*alignPhases+0.5)]
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
			t := &a.taps[int((at-float64(i))*alignPhases+0.5)]
			var sum float32
			for j := range t {
				sum += t[j] * work[(i-alignTaps/2+1+j)*wide+x]
			}
			out[x] = sum
			at += a.sin
		}
	}
}
