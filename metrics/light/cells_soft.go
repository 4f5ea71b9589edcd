package light

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	// A picture that is blurred by softBinned pixels of the bins to be is first binned,
	softBinned = 1.6
	// in squares of so many pixels at most.
	maxSoftBin = 4
)

// Blurred returns what the cells c of a frame would be behind a lens that blurs by a
// Gaussian of sigma pixels of the frame more: it spreads the light of red, green and
// blue, and not their signals.
func (c *Cells) Blurred(f *picture.Frame, sigma float64) *Cells {
	nx, ny := raster.Reduction(f)
	bin := 1
	for bin < maxSoftBin && sigma > softBinned*float64(2*bin) {
		bin *= 2
	}
	// Bins blur as well, by the variance of a box.
	rest := func(sigma float64) float64 {
		return math.Sqrt(stat.Sq(sigma)-float64(bin*bin-1)/12) / float64(bin)
	}
	across, down := raster.GaussianKernel(rest(sigma)), raster.GaussianKernel(rest(sigma*f.Aspect()))
	w, h := c.Width*raster.Quarter*nx/bin, c.height*raster.Quarter*ny/bin
	codes := f.Colour.Transfer.Effective().SignalTable()
	out := newSamples(c.Width, c.height)
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

// binnedLight returns the light of red, green and blue of the first w by h bins of a
// picture.
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
		thinX, thinY := (f.Width()+cb.Width-1)/cb.Width, (f.Height()+cb.Height-1)/cb.Height
		blue, red := cb.Row(y/thinY), cr.Row(y/thinY)
		for x, v := range f.Planes[0].Row(y)[:w*bin] {
			r, g, b := s.RGB([3]float32{float32(v), float32(blue[x/thinX]), float32(red[x/thinX])})
			at := to + x/bin
			add(0, at, r)
			add(1, at, g)
			add(2, at, b)
		}
	}
	return light
}

// boxes sets dst to the means over boxes of px by py values.
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

// spreadPeaks sets each of dst to the highest peak within so many cells: what clipped
// there has been spread as less light than there was.
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
