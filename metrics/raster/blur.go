package raster

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// Gaussian is the kernel of a blur of sigma bins, which need not be much wider than a
// bin: its spectrum is a Gaussian up to the finest frequency that bins can hold.
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

func gaussianReach(sigma float64) int { return int(math.Ceil(4*sigma)) + 2 }

// Narrow blurs a picture wide by high, across and down by kernels of their own, and
// returns its inner part, smaller by their reach on all sides. It uses work, as high as
// src and as wide as dst, as memory.
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

// Blurred blurs a picture wide by high, which goes on beyond its edges as it is there,
// across and down by kernels of their own.
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

// Blurred returns a raster as it would be if the lens blurred by sigma of its pixels
// more.
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
