package raster

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// GaussianKernel returns the kernel of a Gaussian blur of sigma pixels, which may be less than
// one: its spectrum is a Gaussian up to the finest frequency that pixels can hold. Its
// length is odd.
func GaussianKernel(sigma float64) []float32 {
	reach := gaussianReach(sigma)
	kernel := make([]float32, 2*reach+1)
	const steps = 256
	for i := range kernel {
		sum := 0.0
		for j := range steps {
			f := (float64(j) + 0.5) / (2 * steps)
			sum += math.Exp(-2*stat.Sq(math.Pi*sigma*f)) * math.Cos(2*math.Pi*f*float64(i-reach))
		}
		kernel[i] = float32(sum / steps)
	}
	return kernel
}

// gaussianReach is how many pixels the kernel reaches to either side.
func gaussianReach(sigma float64) int { return int(math.Ceil(4*sigma)) + 2 }

// ConvolveValid filters a picture of wide by high pixels by one kernel across and one
// down, and writes to dst the part that the kernels do not reach beyond: smaller by half a
// kernel, rounded down, on all sides. Work is scratch memory as high as src and as wide as dst.
func ConvolveValid(dst, src, work, across, down []float32, wide, high int) {
	columns, rows := wide-2*(len(across)/2), high-2*(len(down)/2)
	for y := range high {
		row, out := src[y*wide:][:wide], work[y*columns:][:columns]
		clear(out)
		for i, k := range across {
			for x, v := range row[i:][:columns] {
				out[x] += k * v
			}
		}
	}
	for y := range rows {
		out := dst[y*columns:][:columns]
		clear(out)
		for i, k := range down {
			for x, v := range work[(y+i)*columns:][:columns] {
				out[x] += k * v
			}
		}
	}
}

// Convolve filters a picture of wide by high pixels by one kernel across and one down. Beyond
// its edges the nearest pixel stands in.
func Convolve(src []float32, wide, high int, across, down []float32) []float32 {
	rx, ry := len(across)/2, len(down)/2
	w, h := wide+2*rx, high+2*ry
	around := make([]float32, w*h)
	for y := range h {
		row, out := src[min(max(y-ry, 0), high-1)*wide:][:wide], around[y*w:][:w]
		copy(out[rx:], row)
		for x := range rx {
			out[x], out[w-1-x] = row[0], row[wide-1]
		}
	}
	dst := make([]float32, wide*high)
	ConvolveValid(dst, around, make([]float32, wide*h), across, down, w, h)
	return dst
}

// Blurred returns the raster as it would be with a Gaussian blur of sigma of its pixels more in
// the lens: light is blurred, under the assumption of a BT.1886 display curve.
func (r *Raster) Blurred(sigma float64) *Raster {
	const white = 255
	out := r.Blank()
	table, codes := picture.BT1886.LightTable(), picture.BT1886.SignalTable()
	light := make([]float32, len(r.Pix))
	for i, v := range r.Pix {
		light[i] = float32(table.At(float64(v) / white))
	}
	kernel := GaussianKernel(sigma)
	for i, v := range Convolve(light, r.Width, r.Height, kernel, kernel) {
		out.Pix[i] = white * codes.At(v)
	}
	return out
}

// Smoothed returns the raster filtered by the binomial 1 2 1 across and down.
func (r *Raster) Smoothed() *Raster {
	out := r.Blank()
	line := make([]float32, r.Width+2) // filtered down, with its ends once more
	for y := range r.Height {
		up, mid, down := r.Row(max(y-1, 0)), r.Row(y), r.Row(min(y+1, r.Height-1))
		for x := range mid {
			line[x+1] = up[x] + 2*mid[x] + down[x]
		}
		line[0], line[r.Width+1] = line[1], line[r.Width]
		dst := out.Row(y)
		for x := range dst {
			s := line[x : x+3 : x+3]
			dst[x] = (s[0] + 2*s[1] + s[2]) / 16
		}
	}
	return out
}
