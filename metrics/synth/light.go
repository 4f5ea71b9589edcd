package synth

import (
	"math"

	"nightpair/metrics/picture"
)

// Light is what a camera does to the light. The zero value is a camera without fault.
type Light struct {
	Exposure  float64 // stops, in linear light
	Red, Blue float64 // stops against green, in linear light
	Veil      float64 // % of white added everywhere in linear light, as flare does
	Lift      float64 // % of full scale added to the signal
	Blur      float64 // sigma of a Gaussian, pixels of this picture
	Vignette  float64 // share of light lost in the corners, 0 to 1
}

// Chroma is the subsampling of a frame's colour.
type Chroma uint8

const (
	Chroma422 Chroma = iota // half width
	Chroma420               // half width and height
	Chroma444               // full size
	NoChroma                // a grey frame
)

// linearPicture is linear light, three channels to a pixel.
type linearPicture struct {
	width, height int
	pix           []float32
}

func newPicture(width, height int) *linearPicture {
	return &linearPicture{width, height, make([]float32, 3*width*height)}
}

func (p *linearPicture) row(y int) []float32 { return p.pix[3*p.width*y:][:3*p.width] }

// blur applies a Gaussian; the border repeats.
func (p *linearPicture) blur(sigma float64) {
	if sigma <= 0 {
		return
	}
	reach := int(math.Ceil(4 * sigma))
	kernel := make([]float32, 2*reach+1)
	var sum float32
	for i := range kernel {
		d := float64(i-reach) / sigma
		kernel[i] = float32(math.Exp(-d * d / 2))
		sum += kernel[i]
	}
	for i := range kernel {
		kernel[i] /= sum
	}
	across := newPicture(p.width, p.height)
	eachRow(p.height, func(y int) {
		src, dst := p.row(y), across.row(y)
		for x := range p.width {
			for i, k := range kernel {
				at := 3 * min(max(x+i-reach, 0), p.width-1)
				dst[3*x] += k * src[at]
				dst[3*x+1] += k * src[at+1]
				dst[3*x+2] += k * src[at+2]
			}
		}
	})
	eachRow(p.height, func(y int) {
		dst := p.row(y)
		clear(dst)
		for i, k := range kernel {
			src := across.row(min(max(y+i-reach, 0), p.height-1))
			for x, v := range src {
				dst[x] += k * v
			}
		}
	})
}

// expose applies what the camera does to light, but for the blur and the lift.
func (p *linearPicture) expose(l Light) {
	if l.Exposure == 0 && l.Red == 0 && l.Blue == 0 && l.Veil == 0 && l.Vignette == 0 {
		return
	}
	gain := [3]float64{math.Exp2(l.Exposure + l.Red), math.Exp2(l.Exposure), math.Exp2(l.Exposure + l.Blue)}
	cx, cy := float64(p.width-1)/2, float64(p.height-1)/2
	eachRow(p.height, func(y int) {
		row := p.row(y)
		for x := range p.width {
			dx, dy := float64(x)-cx, float64(y)-cy
			k := 1 - l.Vignette*(dx*dx+dy*dy)/(cx*cx+cy*cy)
			for c := range 3 {
				row[3*x+c] = float32(float64(row[3*x+c])*gain[c]*k + l.Veil/100)
			}
		}
	})
}

// grain adds sensor noise: a part that grows with the light (shot noise) and a
// part that doesn't (read noise), 3 to 1 in variance at 18 % grey, where they
// add up to the given standard deviation in 8-bit code values of a narrow-range
// BT.1886 signal.
func (p *linearPicture) grain(deviation float64, seed uint64) {
	if deviation <= 0 {
		return
	}
	shot, read := sensor(deviation)
	eachRow(p.height, func(y int) {
		r := random(seed ^ uint64(y)*0xd1342543de82ef95)
		for i, v := range p.row(y) {
			p.row(y)[i] = v + float32(math.Sqrt(shot*max(float64(v), 0)+read)*r.normal())
		}
	})
}

// sensor splits noise into the variance that grows with linear light, for light
// of 1, and the variance that doesn't.
func sensor(deviation float64) (shot, read float64) {
	const grey = 0.18
	slope := math.Pow(grey, 1/2.4-1) / 2.4 // of the signal against light
	sigma := deviation / 219 / slope
	return 0.75 * sigma * sigma / grey, 0.25 * sigma * sigma
}

// Noisy returns a copy of a narrow-range frame with sensor noise as Shot.Noise would give
// it, deviation being in 8-bit code values, at a depth of bits that is not higher. It is
// much cheaper than drawing and lets one drawn picture serve for several frames. It leaves
// out that noise correlates the channels and brightens the deepest black.
func Noisy(f *picture.Frame, deviation float64, depth int, seed uint64) *picture.Frame {
	shot, read := sensor(deviation)
	unit := float64(int(1) << (f.Depth - 8))
	// The deviation of luma for each of its 8-bit codes, in code values of f.
	var luma [256]float64
	for i := range luma {
		v := max(float64(i)-16, 4) / 219 // a curve as steep as at black has no deviation
		light := math.Pow(v, 2.4)
		// Three channels of equal noise, with BT.709's weights.
		luma[i] = 0.7496 * 219 * unit * math.Sqrt(shot*light+read) * math.Pow(light, 1/2.4-1) / 2.4
	}
	out := *f
	out.Depth = depth
	out.Planes = make([]picture.Plane, len(f.Planes))
	drop := f.Depth - depth
	scale, top := 1/float64(int(1)<<drop), float64(int(1)<<depth-1)
	for i, p := range f.Planes {
		q := picture.Plane{Width: p.Width, Height: p.Height, Stride: p.Width, Pix: make([]uint16, p.Width*p.Height)}
		across, down := f.Width()/p.Width, f.Height()/p.Height
		// The same weights for the colour differences, and what halving the
		// planes takes off.
		share := [...]float64{1, 0.88, 0.92}[i]
		if across > 1 {
			share *= 0.61
		}
		if down > 1 {
			share *= 0.71
		}
		r := random(seed + uint64(i)*0xd1342543de82ef95)
		for y := range p.Height {
			bright := f.Planes[0].Row(min(y*down, f.Height()-1))
			src, dst := p.Row(y), q.Row(y)
			for x, v := range src {
				sigma := share * luma[bright[x*across]>>(f.Depth-8)]
				dst[x] = uint16(min(max((float64(v)+sigma*r.normal())*scale+0.5, 0), top))
			}
		}
		out.Planes[i] = q
	}
	return &out
}

// random is a small generator of random numbers (SplitMix64, by Steele, Lea
// and Flood, 2014).
type random uint64

func (r *random) next() uint64 {
	*r += 0x9e3779b97f4a7c15
	z := uint64(*r)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// normal returns the sum of four uniform numbers, scaled to mean 0 and variance
// 1: near enough to a normal distribution for the noise of a picture.
func (r *random) normal() float64 {
	z := r.next()
	sum := float64(z&0xffff) + float64(z>>16&0xffff) + float64(z>>32&0xffff) + float64(z>>48)
	const mean, deviation = 2 * 65535.0, 37837.23 // of the sum: 65536·√(4/12)
	return (sum - mean) / deviation
}

// signal turns linear light into the signal by the inverse of BT.1886.
var signal = func() func(float32) float64 {
	// Tabled over the square root of the light, where the curve is nearly
	// straight: the error is below 1e-6 from 0.001 on.
	const steps = 1 << 13
	var table [steps + 2]float64
	for i := range table {
		table[i] = math.Pow(float64(i)/steps, 2/2.4)
	}
	return func(light float32) float64 {
		if light <= 0 {
			return 0
		}
		if light >= 1 {
			return 1
		}
		at := math.Sqrt(float64(light)) * steps
		i := int(at)
		return table[i] + (table[i+1]-table[i])*(at-float64(i))
	}
}()

// frame encodes the picture with the BT.709 matrix; light over 1 clips.
func (p *linearPicture) frame(depth int, chroma Chroma, full bool, lift float64) *picture.Frame {
	w, h := p.width, p.height
	luma, cb, cr := make([]float32, w*h), make([]float32, w*h), make([]float32, w*h)
	eachRow(h, func(y int) {
		row := p.row(y)
		for x := range w {
			r := min(signal(row[3*x])+lift/100, 1)
			g := min(signal(row[3*x+1])+lift/100, 1)
			b := min(signal(row[3*x+2])+lift/100, 1)
			// Rec. ITU-R BT.709-6, items 3.2 and 3.3.
			l := 0.2126*r + 0.7152*g + 0.0722*b
			i := y*w + x
			luma[i], cb[i], cr[i] = float32(l), float32((b-l)/1.8556), float32((r-l)/1.5748)
		}
	})
	f := &picture.Frame{
		Depth:  depth,
		Layout: picture.YCbCr,
		Colour: picture.Colour{Range: picture.NarrowRange, Matrix: picture.BT709, Transfer: picture.BT1886, Primaries: picture.PrimariesBT709},
	}
	// Item 4.6 for narrow range.
	unit := float64(int(1) << (depth - 8))
	top := float64(int(1)<<depth - 1)
	black, white, zero, swing := 16*unit, 219*unit, 128*unit, 224*unit
	if full {
		f.Colour.Range = picture.FullRange
		black, white, swing = 0, top, top
	}
	f.Planes = append(f.Planes, quantise(luma, w, h, black, white, top))
	if chroma == NoChroma {
		f.Layout = picture.Grey
		return f
	}
	for _, c := range [][]float32{cb, cr} {
		cw, ch := w, h
		if chroma != Chroma444 {
			c, cw = halveAcross(c, w, h), (w+1)/2
		}
		if chroma == Chroma420 {
			c, ch = halveDown(c, cw, h), (h+1)/2
		}
		f.Planes = append(f.Planes, quantise(c, cw, ch, zero, swing, top))
	}
	return f
}

func quantise(v []float32, w, h int, zero, swing, top float64) picture.Plane {
	p := picture.Plane{Width: w, Height: h, Stride: w, Pix: make([]uint16, w*h)}
	for i, x := range v {
		p.Pix[i] = uint16(min(max(zero+swing*float64(x)+0.5, 0), top))
	}
	return p
}

// halveAcross halves a plane's width; samples sit on the even columns.
func halveAcross(v []float32, w, h int) []float32 {
	half := (w + 1) / 2
	out := make([]float32, half*h)
	for y := range h {
		row := v[y*w:][:w]
		for x := range half {
			l, r := row[max(2*x-1, 0)], row[min(2*x+1, w-1)]
			out[y*half+x] = (l + 2*row[2*x] + r) / 4
		}
	}
	return out
}

// halveDown halves a plane's height; samples sit between two rows.
func halveDown(v []float32, w, h int) []float32 {
	half := (h + 1) / 2
	out := make([]float32, w*half)
	for y := range half {
		a, b := v[2*y*w:][:w], v[min(2*y+1, h-1)*w:][:w]
		for x := range w {
			out[y*w+x] = (a[x] + b[x]) / 2
		}
	}
	return out
}
