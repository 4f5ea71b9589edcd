package metrics

import "math"

const (
	// A picture that is blurred by softBinned pixels of the bins to be is first binned,
	softBinned = 1.6
	// in squares of so many pixels at most.
	softBinMost = 4
)

// softened returns what the cells c of a frame would be behind a lens that blurs by a
// Gaussian of sigma pixels of the frame more: it spreads the light of red, green and
// blue, and not their signals.
func (c *cells) softened(f *Frame, sigma float64) *cells {
	nx, ny := reduction(f)
	bin := 1
	for bin < softBinMost && sigma > softBinned*float64(2*bin) {
		bin *= 2
	}
	// Bins blur as well, by the variance of a box.
	rest := func(sigma float64) float64 {
		return math.Sqrt(sq(sigma)-float64(bin*bin-1)/12) / float64(bin)
	}
	across, down := gaussian(rest(sigma)), gaussian(rest(sigma*f.Aspect()))
	w, h := c.width*quarter*nx/bin, c.height*quarter*ny/bin
	_, codes := f.Colour.Transfer.settled().tables()
	out := newSamples(c.width, c.height)
	for k, light := range binnedLight(f, bin, w, h) {
		soft := blurred(light, w, h, across, down)
		for i, v := range soft {
			soft[i] = codes.at(v)
		}
		boxes(out.signal[k], soft, w, c.width, c.height, quarter*nx/bin, quarter*ny/bin)
	}
	c.spreadPeaks(out.peak, int(math.Ceil(3*sigma/float64(quarter*nx))))
	return out
}

// binnedLight returns the light of red, green and blue of the first w by h bins of a
// picture.
func binnedLight(f *Frame, bin, w, h int) (light [3][]float32) {
	for k := range light {
		light[k] = make([]float32, w*h)
	}
	s, table := f.signal(), f.Colour.Transfer.settled().table()
	scale := 1 / float32(bin*bin)
	add := func(k, at int, signal float32) { light[k][at] += scale * float32(table.at(float64(signal))) }
	for y := range h * bin {
		to := y / bin * w
		if f.Layout != YCbCr {
			for k := range light {
				for x, v := range f.Planes[min(k, len(f.Planes)-1)].Row(y)[:w*bin] {
					add(k, to+x/bin, (float32(v)-s.black)/(s.white-s.black))
				}
			}
			continue
		}
		cb, cr := f.Planes[1], f.Planes[2]
		thinX, thinY := (f.Width()+cb.Width-1)/cb.Width, (f.Height()+cb.Height-1)/cb.Height
		blue, red := cb.Row(y/thinY), cr.Row(y/thinY)
		for x, v := range f.Planes[0].Row(y)[:w*bin] {
			r, g, b := s.rgb([3]float32{float32(v), float32(blue[x/thinX]), float32(red[x/thinX])})
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
func (c *cells) spreadPeaks(dst []float32, reach int) {
	w, h := c.width, c.height
	rows := make([]float32, w*h)
	for y := range h {
		for x := range w {
			for k := max(x-reach, 0); k <= min(x+reach, w-1); k++ {
				rows[y*w+x] = max(rows[y*w+x], c.peak[y*w+k])
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
