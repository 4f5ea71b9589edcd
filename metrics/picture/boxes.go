package picture

// AddBoxes adds n neighbouring samples to each of the sums: src[i·n] to src[i·n+n−1] to
// sums[i]. Src must hold n samples for each sum.
func AddBoxes(sums []uint32, src []uint16, n int) {
	switch n {
	case 1:
		for x, v := range src[:len(sums)] {
			sums[x] += uint32(v)
		}
	case 2:
		src = src[:2*len(sums)]
		for x := range sums {
			sums[x] += uint32(src[2*x]) + uint32(src[2*x+1])
		}
	default:
		for x := range sums {
			var s uint32
			for _, v := range src[x*n:][:n] {
				s += uint32(v)
			}
			sums[x] += s
		}
	}
}

// Boxed returns the plane at another size, row by row, in code values: each sample is the
// mean of the samples that it covers, or the nearest one where it covers less than one.
func (p Plane) Boxed(width, height int) []float32 {
	out := make([]float32, width*height)
	sums := make([]uint64, p.Width)
	for y := range height {
		y0 := y * p.Height / height
		y1 := max((y+1)*p.Height/height, y0+1)
		clear(sums)
		for sy := y0; sy < y1; sy++ {
			for x, v := range p.Row(sy) {
				sums[x] += uint64(v)
			}
		}
		for x := range width {
			x0 := x * p.Width / width
			x1 := max((x+1)*p.Width/width, x0+1)
			var sum uint64
			for _, s := range sums[x0:x1] {
				sum += s
			}
			out[y*width+x] = float32(float64(sum) / float64((x1-x0)*(y1-y0)))
		}
	}
	return out
}
