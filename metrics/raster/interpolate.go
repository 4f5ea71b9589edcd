package raster

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

const (
	// PatchRadius is half the side of a Patch, in pixels; PatchSize is its number of pixels.
	PatchRadius = 8
	PatchSide   = 2*PatchRadius + 1
	PatchSize   = PatchSide * PatchSide
	// TapCount is how many pixels along an axis a value between pixels is made of.
	TapCount = 6
)

// tapBand is up to which frequency, in cycles per pixel, the filters are designed.
const tapBand = 0.32

// phases is for how many fractions of a pixel filters are kept in phaseTaps.
const (
	phaseBits = 7
	phases    = 1 << phaseBits
)

// phaseTaps holds the weights of the six pixels around a place at the fraction t = i/phases
// between the third and the fourth. They shift waves of up to tapBand by t with the least
// mean square error, sum to 1, and shift a straight slope exactly.
var phaseTaps = func() (taps [phases + 1][TapCount]float32) {
	const n = TapCount + 2 // with a multiplier for each of the two conditions
	wave := func(d float64) float64 {
		if d == 0 {
			return 2 * tapBand
		}
		return math.Sin(2*math.Pi*tapBand*d) / (math.Pi * d)
	}
	m := mat.NewDense(n, n, nil)
	for i := range TapCount {
		for j := range TapCount {
			m.Set(i, j, wave(float64(i-j)))
		}
		m.Set(i, TapCount, 1)
		m.Set(TapCount, i, 1)
		m.Set(i, TapCount+1, float64(i-2))
		m.Set(TapCount+1, i, float64(i-2))
	}
	var lu mat.LU
	lu.Factorize(m)
	w, v := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for k := range taps {
		t := float64(k) / phases
		for i := range TapCount {
			v.SetVec(i, wave(t-float64(i-2)))
		}
		v.SetVec(TapCount, 1)
		v.SetVec(TapCount+1, t)
		if err := lu.SolveVecTo(w, false, v); err != nil {
			panic(err) // of constants
		}
		for i := range taps[k] {
			taps[k][i] = float32(w.AtVec(i))
		}
	}
	return taps
}()

// sixTaps returns the weights for a fraction 0 ≤ t < 1, interpolated between two phases.
func sixTaps(t float64) (taps [TapCount]float32) {
	at := t * phases
	k := int(at)
	a, b, part := &phaseTaps[k], &phaseTaps[k+1], float32(at-float64(k))
	for i, v := range a {
		taps[i] = v + part*(b[i]-v)
	}
	return taps
}

// Patch samples the raster at the PatchSide by PatchSide places around (x, y), in pixels, by
// six taps each way. It reports false where the filter would leave the picture.
func (r *Raster) Patch(dst *[PatchSize]float32, x, y float64) bool {
	x0, y0 := int(math.Floor(x)), int(math.Floor(y))
	const reach = PatchRadius + TapCount/2
	if x0 < reach || y0 < reach || x0 >= r.Width-reach-1 || y0 >= r.Height-reach-1 {
		return false
	}
	h, v := sixTaps(x-float64(x0)), sixTaps(y-float64(y0))
	var across [(PatchSide + TapCount - 1) * PatchSide]float32
	for j := range PatchSide + TapCount - 1 {
		src := r.Row(y0 - PatchRadius - 2 + j)[x0-PatchRadius-2:][:PatchSide+TapCount-1]
		out := across[j*PatchSide:][:PatchSide]
		for i := range out {
			s := src[i : i+6 : i+6]
			out[i] = h[0]*s[0] + h[1]*s[1] + h[2]*s[2] + h[3]*s[3] + h[4]*s[4] + h[5]*s[5]
		}
	}
	for j := range PatchSide {
		a := across[j*PatchSide:][:6*PatchSide]
		out := dst[j*PatchSide:][:PatchSide]
		for i := range out {
			out[i] = v[0]*a[i] + v[1]*a[i+PatchSide] + v[2]*a[i+2*PatchSide] +
				v[3]*a[i+3*PatchSide] + v[4]*a[i+4*PatchSide] + v[5]*a[i+5*PatchSide]
		}
	}
	return true
}

// BilinearPatch samples what Patch does, bilinearly: cheaper, and good to a few
// hundredths of a pixel.
func (r *Raster) BilinearPatch(dst *[PatchSize]float32, x, y float64) bool {
	x0, y0 := int(math.Floor(x)), int(math.Floor(y))
	const reach = PatchRadius + TapCount/2
	if x0 < reach || y0 < reach || x0 >= r.Width-reach-1 || y0 >= r.Height-reach-1 {
		return false
	}
	fx, fy := float32(x-float64(x0)), float32(y-float64(y0))
	a, b, c, d := (1-fx)*(1-fy), fx*(1-fy), (1-fx)*fy, fx*fy
	for j := range PatchSide {
		up := r.Row(y0 - PatchRadius + j)[x0-PatchRadius:][:PatchSide+1]
		down := r.Row(y0 - PatchRadius + j + 1)[x0-PatchRadius:][:PatchSide+1]
		out := dst[j*PatchSide:][:PatchSide]
		for i := range out {
			out[i] = a*up[i] + b*up[i+1] + c*down[i] + d*down[i+1]
		}
	}
	return true
}

// Bilinear returns the value at (x, y), in pixels, interpolated bilinearly; false outside of
// the raster.
func (r *Raster) Bilinear(x, y float64) (float64, bool) {
	i, j := int(math.Floor(x)), int(math.Floor(y))
	if i < 0 || j < 0 || i+1 >= r.Width || j+1 >= r.Height {
		return 0, false
	}
	s, t := float32(x-float64(i)), float32(y-float64(j))
	up, down := r.Row(j)[i:i+2], r.Row(j + 1)[i:i+2]
	return float64((1-t)*((1-s)*up[0]+s*up[1]) + t*((1-s)*down[0]+s*down[1])), true
}

// ResampleRow samples a row by six taps at places that are step apart, from at on. Beyond its
// ends the nearest pixel stands in.
func ResampleRow(dst, row []float32, at, step Fixed) {
	for i := range dst {
		x0, h := TapsAt(at)
		if x0 < 2 || x0 >= len(row)-3 {
			dst[i] = row[min(max(x0, 0), len(row)-1)]
		} else {
			p := row[x0-2 : x0+4 : x0+4]
			dst[i] = h[0]*p[0] + h[1]*p[1] + h[2]*p[2] + h[3]*p[3] + h[4]*p[4] + h[5]*p[5]
		}
		at += step
	}
}

// Fixed is a place along a row or a column of pixels, in units of 2^−32 pixels.
type Fixed int64

// ToFixed returns the place of v pixels.
func ToFixed(v float64) Fixed { return Fixed(v * (1 << 32)) }

// TapsAt returns the pixel at or before a place, which is rounded to the nearest phase, and the
// weights of the six pixels from two before that one on.
func TapsAt(at Fixed) (pixel int, taps *[TapCount]float32) {
	at = (at + 1<<31/phases) >> (32 - phaseBits)
	return int(at >> phaseBits), &phaseTaps[at&(phases-1)]
}
