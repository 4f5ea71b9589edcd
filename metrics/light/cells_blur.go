package light

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	// A picture is binned before it is blurred by a sigma of at least minBinnedSigma bins,
	// in bins of maxBlurBin by maxBlurBin pixels at most.
	minBinnedSigma = 1.6
	maxBlurBin     = 4
)

// Blurred returns what the cells c of the frame f would be behind a lens that blurs by a
// Gaussian of sigma pixels of the frame more, sigma being above 0. A lens spreads light
// and not signals, so that is what is blurred.
func (c *Cells) Blurred(f *picture.Frame, sigma float64) *Cells {
	nx, ny := raster.Reduction(f)
	bin := 1
	for bin < maxBlurBin && sigma > minBinnedSigma*float64(2*bin) {
		bin *= 2
	}
	// Binning blurs as well: a box has a variance of (bin² − 1)/12 px².
	rest := func(sigma float64) float64 {
		return math.Sqrt(stat.Sq(sigma)-float64(bin*bin-1)/12) / float64(bin)
	}
	across, down := raster.GaussianKernel(rest(sigma)), raster.GaussianKernel(rest(sigma*f.Aspect()))
	w, h := c.Width*raster.Quarter*nx/bin, c.height*raster.Quarter*ny/bin
	codes := f.Colour.Transfer.Effective().SignalTable()
	out := newCells(c.Width, c.height)
	for k, light := range binnedLight(f, bin, w, h) {
		soft := raster.Convolve(light, w, h, across, down)
		for i, v := range soft {
			soft[i] = codes.At(v)
		}
		boxes(out.Signal[k], soft, w, c.Width, c.height, raster.Quarter*nx/bin, raster.Quarter*ny/bin)
	}
	c.spreadPeaks(out.Peak, int(math.Ceil(3*sigma/float64(raster.Quarter*nx))))
	return out
}

// binnedLight returns the linear light of red, green and blue, white being 1, of the first
// w by h bins of a picture.
func binnedLight(f *picture.Frame, bin, w, h int) (light [3][]float32) {
	for k := range light {
		light[k] = make([]float32, w*h)
	}
	s, table := f.Signal(), f.Colour.Transfer.Effective().LightTable()
	scale := 1 / float32(bin*bin)
	add := func(k, at int, signal float32) { light[k][at] += scale * float32(table.At(float64(signal))) }
	for y := range h * bin {
		to := y / bin * w
		if f.Layout != picture.YCbCr {
			for k := range light {
				for x, v := range f.Planes[min(k, len(f.Planes)-1)].Row(y)[:w*bin] {
					add(k, to+x/bin, (float32(v)-s.Black)/(s.White-s.Black))
				}
			}
			continue
		}
		cb, cr := f.Planes[1], f.Planes[2]
		subX, subY := (f.Width()+cb.Width-1)/cb.Width, (f.Height()+cb.Height-1)/cb.Height
		blue, red := cb.Row(y/subY), cr.Row(y/subY)
		for x, v := range f.Planes[0].Row(y)[:w*bin] {
			r, g, b := s.RGB([3]float32{float32(v), float32(blue[x/subX]), float32(red[x/subX])})
			at := to + x/bin
			add(0, at, r)
			add(1, at, g)
			add(2, at, b)
		}
	}
	return light
}

// boxes adds to dst, of w by h values, the means of pix over boxes of px by py values.
func boxes(dst, pix []float32, stride, w, h, px, py int) {
	scale := 1 / float32(px*py)
	for y := range h {
		out := dst[y*w:][:w]
		for j := range py {
			row := pix[(y*py+j)*stride:][:stride]
			for x := range out {
				for _, v := range row[x*px:][:px] {
					out[x] += v * scale
				}
			}
		}
	}
}

// spreadPeaks sets each of dst to the highest peak within so many cells across and down: a
// cell whose blur includes clipped light counts as clipped.
func (c *Cells) spreadPeaks(dst []float32, reach int) {
	w, h := c.Width, c.height
	rows := make([]float32, w*h)
	for y := range h {
		for x := range w {
			for k := max(x-reach, 0); k <= min(x+reach, w-1); k++ {
				rows[y*w+x] = max(rows[y*w+x], c.Peak[y*w+k])
			}
		}
	}
	for y := range h {
		for x := range w {
			for k := max(y-reach, 0); k <= min(y+reach, h-1); k++ {
				dst[y*w+x] = max(dst[y*w+x], rows[k*w+x])
			}
		}
	}
}
