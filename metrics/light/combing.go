package light

import (
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

const (
	// combStep is the least difference of alternate lines, in 8-bit code values.
	combStep = 10
	// combEvery is the distance of the columns that are examined, in pixels.
	combEvery = 6
)

// Combed returns the share of the picture, 0 to 1, that combs: around a pixel, the odd ones
// of five lines nearly agree, and so do the even ones, and odd and even lines differ by
// combStep or more, the same way in the next column.
func Combed(f *picture.Frame) float64 {
	p := f.Planes[0]
	if f.Layout == picture.RGB {
		p = f.Planes[1]
	}
	step := int(combStep) << (f.Depth - 8)
	count, total := 0, 0
	for y := 2; y+2 < p.Height; y++ {
		a, b, c, d, e := p.Row(y-2), p.Row(y-1), p.Row(y), p.Row(y+1), p.Row(y+2)
		for x := 0; x < p.Width; x += combEvery {
			total++
			up := int(c[x]) - int(b[x])
			if up < step && up > -step {
				continue
			}
			if up < 0 {
				up = -up
			}
			agree := func(p, q uint16) bool { return 3*stat.Abs(int(p)-int(q)) < up }
			if !agree(a[x], c[x]) || !agree(c[x], e[x]) || !agree(b[x], d[x]) {
				continue
			}
			// Noise would not do the same to the next pixel.
			beside := min(x+1, p.Width-1)
			next := int(c[beside]) - int(b[beside])
			if c[x] < b[x] {
				next = -next
			}
			if 2*next > up {
				count++
			}
		}
	}
	return float64(count) / float64(max(total, 1))
}
