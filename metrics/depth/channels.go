package depth

import (
	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

// Channels are the planes of a frame at the size of the full raster, in 8-bit code values, row by
// row.
type Channels [][]float32

// NewChannels reduces the planes of f to the size of r.
func NewChannels(f *picture.Frame, r *raster.Raster) Channels {
	l := make(Channels, len(f.Planes))
	for i, p := range f.Planes {
		l[i] = p.Boxed(r.Width, r.Height)
		for k := range l[i] {
			l[i][k] /= float32(int(1) << (f.Depth - 8))
		}
	}
	return l
}

// mean returns the mean of each plane over n pixels from column x on in the rows y−1 to y+1.
// Width is that of a plane.
func (l Channels) mean(x, n, y, width int) (out [3]float64) {
	for c, plane := range l {
		for dy := -1; dy <= 1; dy++ {
			for _, v := range plane[(y+dy)*width+x:][:n] {
				out[c] += float64(v)
			}
		}
		out[c] /= float64(3 * n)
	}
	return out
}
