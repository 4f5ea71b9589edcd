package demo

import (
	"math"

	"nightpair/metrics/picture"
)

// lower returns the middle rows of a picture that was drawn too tall, height
// of them, with its content moved down by so many rows. Fractions of a row are
// interpolated with six taps.
func lower(f *picture.Frame, height int, rows float64) *picture.Frame {
	out := *f
	out.Planes = make([]picture.Plane, len(f.Planes))
	for i, p := range f.Planes {
		// Chroma planes may have half the rows.
		every := f.Height() / p.Height
		h := height / every
		start := float64(p.Height-h)/2 - rows/float64(every)
		first := int(math.Floor(start))
		if start == float64(first) {
			q := p
			q.Height, q.Pix = h, p.Pix[first*p.Stride:]
			out.Planes[i] = q
			continue
		}
		q := picture.Plane{Width: p.Width, Height: h, Stride: p.Width, Pix: make([]uint16, p.Width*h)}
		taps := lanczos(start - float64(first))
		top := float64(int(1)<<f.Depth - 1)
		for y := range h {
			var from [6][]uint16
			for k := range from {
				from[k] = p.Row(min(max(first+y+k-2, 0), p.Height-1))
			}
			dst := q.Row(y)
			for x := range dst {
				sum := 0.5
				for k, tap := range taps {
					sum += tap * float64(from[k][x])
				}
				dst[x] = uint16(min(max(sum, 0), top))
			}
		}
		out.Planes[i] = q
	}
	return &out
}

// lanczos returns the weights of the samples from −2 to 3 for a place between
// 0 and 1.
func lanczos(at float64) [6]float64 {
	var taps [6]float64
	sum := 0.0
	for i := range taps {
		d := math.Pi * (at - float64(i-2))
		taps[i] = 1
		if d != 0 {
			taps[i] = 3 * math.Sin(d) * math.Sin(d/3) / (d * d)
		}
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}

// expose returns the picture with its light changed by so many stops. A
// narrow-range BT.1886 signal is a power of the light, 1/2.4, so that its
// code values change by one factor; what was clipped stays as flat as it was.
func expose(f *picture.Frame, stops float64) *picture.Frame {
	if stops == 0 {
		return f
	}
	gain := math.Exp2(stops / 2.4)
	unit := float64(int(1) << (f.Depth - 8))
	out := *f
	out.Planes = make([]picture.Plane, len(f.Planes))
	for i, p := range f.Planes {
		zero := 16 * unit
		if i > 0 {
			zero = 128 * unit
		}
		q := picture.Plane{Width: p.Width, Height: p.Height, Stride: p.Width, Pix: make([]uint16, p.Width*p.Height)}
		for y := range p.Height {
			dst := q.Row(y)
			for x, v := range p.Row(y) {
				dst[x] = uint16(zero + gain*(float64(v)-zero) + 0.5)
			}
		}
		out.Planes[i] = q
	}
	return &out
}
