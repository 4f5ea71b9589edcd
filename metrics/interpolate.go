package metrics

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

const (
	patchRadius = 8
	patchSide   = 2*patchRadius + 1
	patchSize   = patchSide * patchSide
	tapCount    = 6
)

// tapBand is up to which frequency, in cycles per pixel, the taps are good.
const tapBand = 0.32

// shades is how many fractions of a pixel filters are kept for, in shadeTaps.
const (
	shadeBits = 7
	shades    = 1 << shadeBits
)

// shadeTaps holds the weights of the six pixels around a place that lies at a fraction
// t = i/shades between the third and the fourth. They are those that shift waves of up to
// tapBand most nearly by t, in the least-squares sense, sum to 1 and shift a slope
// exactly. A sinc under a window shifts what is coarse by up to 0.02 pixels too little.
var shadeTaps = func() (taps [shades + 1][tapCount]float32) {
	const n = tapCount + 2 // with a multiplier for each of the two conditions
	wave := func(d float64) float64 {
		if d == 0 {
			return 2 * tapBand
		}
		return math.Sin(2*math.Pi*tapBand*d) / (math.Pi * d)
	}
	m := mat.NewDense(n, n, nil)
	for i := range tapCount {
		for j := range tapCount {
			m.Set(i, j, wave(float64(i-j)))
		}
		m.Set(i, tapCount, 1)
		m.Set(tapCount, i, 1)
		m.Set(i, tapCount+1, float64(i-2))
		m.Set(tapCount+1, i, float64(i-2))
	}
	var lu mat.LU
	lu.Factorize(m)
	w, v := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	for k := range taps {
		t := float64(k) / shades
		for i := range tapCount {
			v.SetVec(i, wave(t-float64(i-2)))
		}
		v.SetVec(tapCount, 1)
		v.SetVec(tapCount+1, t)
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
func sixTaps(t float64) (taps [tapCount]float32) {
	at := t * shades
	k := int(at)
	a, b, part := &shadeTaps[k], &shadeTaps[k+1], float32(at-float64(k))
	for i, v := range a {
		taps[i] = v + part*(b[i]-v)
	}
	return taps
}

// patch samples the raster around a sub-pixel place into dst. It reports false
// where the filter would leave the picture.
func (r *raster) patch(dst *[patchSize]float32, x, y float64) bool {
	x0, y0 := int(math.Floor(x)), int(math.Floor(y))
	const reach = patchRadius + tapCount/2
	if x0 < reach || y0 < reach || x0 >= r.width-reach-1 || y0 >= r.height-reach-1 {
		return false
	}
	h, v := sixTaps(x-float64(x0)), sixTaps(y-float64(y0))
	var across [(patchSide + tapCount - 1) * patchSide]float32
	for j := range patchSide + tapCount - 1 {
		src := r.row(y0 - patchRadius - 2 + j)[x0-patchRadius-2:][:patchSide+tapCount-1]
		out := across[j*patchSide:][:patchSide]
		for i := range out {
			s := src[i : i+6 : i+6]
			out[i] = h[0]*s[0] + h[1]*s[1] + h[2]*s[2] + h[3]*s[3] + h[4]*s[4] + h[5]*s[5]
		}
	}
	for j := range patchSide {
		a := across[j*patchSide:][:6*patchSide]
		out := dst[j*patchSide:][:patchSide]
		for i := range out {
			out[i] = v[0]*a[i] + v[1]*a[i+patchSide] + v[2]*a[i+2*patchSide] +
				v[3]*a[i+3*patchSide] + v[4]*a[i+4*patchSide] + v[5]*a[i+5*patchSide]
		}
	}
	return true
}

// linear samples like patch, but linearly between pixels.
func (r *raster) linear(dst *[patchSize]float32, x, y float64) bool {
	x0, y0 := int(math.Floor(x)), int(math.Floor(y))
	const reach = patchRadius + tapCount/2
	if x0 < reach || y0 < reach || x0 >= r.width-reach-1 || y0 >= r.height-reach-1 {
		return false
	}
	fx, fy := float32(x-float64(x0)), float32(y-float64(y0))
	a, b, c, d := (1-fx)*(1-fy), fx*(1-fy), (1-fx)*fy, fx*fy
	for j := range patchSide {
		up := r.row(y0 - patchRadius + j)[x0-patchRadius:][:patchSide+1]
		down := r.row(y0 - patchRadius + j + 1)[x0-patchRadius:][:patchSide+1]
		out := dst[j*patchSide:][:patchSide]
		for i := range out {
			out[i] = a*up[i] + b*up[i+1] + c*down[i] + d*down[i+1]
		}
	}
	return true
}

// glide samples a row at places that are step apart. Beyond its ends the nearest pixel
// stands in.
func glide(dst, row []float32, at, step fixed) {
	for i := range dst {
		x0, h := split(at)
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
type fixed int64

func toFixed(v float64) fixed { return fixed(v * (1 << 32)) }

// split returns the pixel before a place, to the nearest shade, and the filter for what
// is left.
func split(at fixed) (pixel int, taps *[tapCount]float32) {
	at = (at + 1<<31/shades) >> (32 - shadeBits)
	return int(at >> shadeBits), &shadeTaps[at&(shades-1)]
}
