package raster

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

const (
	PatchRadius = 8
	PatchSide   = 2*PatchRadius + 1
	PatchSize   = PatchSide * PatchSide
	TapCount    = 6
)

// tapBand is up to which frequency, in cycles per pixel, the taps are good.
const tapBand = 0.32

// shades is how many fractions of a pixel filters are kept for, in phaseTaps.
const (
	phaseBits = 7
	phases    = 1 << phaseBits
)

// phaseTaps holds the weights of the six pixels around a place that lies at a fraction
// t = i/shades between the third and the fourth. They are those that shift waves of up to
// tapBand most nearly by t, in the least-squares sense, sum to 1 and shift a slope
// exactly. A sinc under a window shifts what is coarse by up to 0.02 pixels too little.
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

// sixTaps returns the weights for a fraction, 0 ≤ t < 1, between two shades.
func sixTaps(t float64) (taps [TapCount]float32) {
	at := t * phases
	k := int(at)
	a, b, part := &phaseTaps[k], &phaseTaps[k+1], float32(at-float64(k))
	for i, v := range a {
		taps[i] = v + part*(b[i]-v)
	}
	return taps
}

// Patch samples the raster around a sub-pixel place into dst. It reports false
// where the filter would leave the picture.
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

// Linear samples like patch, but linearly between pixels.
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

// Glide samples a row at places that are step apart. Beyond its ends the nearest pixel
// stands in.
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

// fixed is a place along a row or a column of pixels, in units of 2^−32 pixels.
type Fixed int64

func ToFixed(v float64) Fixed { return Fixed(v * (1 << 32)) }

// Split returns the pixel before a place, to the nearest shade, and the filter for what
// is left.
func TapsAt(at Fixed) (pixel int, taps *[TapCount]float32) {
	at = (at + 1<<31/phases) >> (32 - phaseBits)
	return int(at >> phaseBits), &phaseTaps[at&(phases-1)]
}
