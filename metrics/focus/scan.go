package focus

import (
	"nightpair/metrics/light"
	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// scan reads a frame's brightness in bins of bin by bin pixels: in light, as blur
// spreads light and not signals. White is lightUnit.
type scan struct {
	frame *picture.Frame
	bin   int
	light [3][]float32 // of the code values of each plane
}

const lightUnit = 255

func newScan(f *picture.Frame, bin int) *scan {
	s := &scan{frame: f, bin: bin}
	weights := []float64{1}
	if f.Layout == picture.RGB {
		kr, kg, kb := f.Colour.Luma(f.Height())
		weights = []float64{kr, kg, kb}
	}
	table, sig := f.Colour.Transfer.LightTable(), f.Signal()
	for c, weight := range weights {
		s.light[c] = make([]float32, int(1)<<f.Depth)
		for code := range s.light[c] {
			v := float64((float32(code) - sig.Black) / (sig.White - sig.Black))
			s.light[c][code] = float32(weight * lightUnit / float64(bin*bin) * table.At(v))
		}
	}
	return s
}

// holds reports whether the picture holds a patch n bins high and half as wide from
// pixel (x, y) on, and so many bins around it.
func (s *scan) holds(n, margin, x, y int) bool {
	m := margin * s.bin
	return x >= m && y >= m && x+n/2*s.bin+m <= s.frame.Width() && y+n*s.bin+m <= s.frame.Height()
}

// read takes a patch that the picture holds, row by row, from pixel (x, y) on.
func (s *scan) read(dst []float32, wide, high, x, y int) {
	if s.bin == 1 && s.light[1] == nil {
		light, p := s.light[0], s.frame.Planes[0]
		for j := range high {
			out := dst[j*wide:][:wide]
			for i, code := range p.Row(y + j)[x:][:wide] {
				out[i] = light[code]
			}
		}
		return
	}
	clear(dst[:wide*high])
	for c, light := range s.light {
		if light == nil {
			break
		}
		p := s.frame.Planes[c]
		for j := range high * s.bin {
			out := dst[j/s.bin*wide:][:wide]
			row := p.Row(y + j)[x:][:wide*s.bin]
			if s.bin == 1 {
				for i, code := range row {
					out[i] += light[code]
				}
				continue
			}
			for i, code := range row {
				out[i/s.bin] += light[code]
			}
		}
	}
}

// reader reads patches of an eye's picture, n bins high and half as wide, blurred by a
// kernel if there is one, and aligned by an aligner if there is one.
type reader struct {
	from                *scan
	n, margin, room     int
	kernel              []float32
	aligner             *aligner
	around, level, work []float32
}

func newReader(from *scan, n int, kernel []float32, a *aligner) *reader {
	r := &reader{from: from, n: n, margin: len(kernel) / 2, kernel: kernel, aligner: a}
	wide, high := n/2+2*r.margin, n+2*r.margin
	r.room = a.room(wide, high)
	size := (wide + 2*r.room) * (high + 2*r.room)
	r.around, r.level, r.work = make([]float32, size), make([]float32, size), make([]float32, size)
	return r
}

// read takes the patch from pixel (x, y) on, and by (restX, restY) pixels farther if it
// is aligned. It reports false where the picture does not hold what is looked at.
func (r *reader) read(dst []float32, x, y int, restX, restY float64) bool {
	edge, bin := r.margin+r.room, float64(r.from.bin)
	if !r.from.holds(r.n, edge, x, y) {
		return false
	}
	wide, high := r.n/2+2*r.margin, r.n+2*r.margin
	if r.aligner == nil && r.kernel == nil {
		r.from.read(dst, wide, high, x, y)
		return true
	}
	r.from.read(r.around, wide+2*r.room, high+2*r.room, x-edge*r.from.bin, y-edge*r.from.bin)
	patch := r.around
	if r.aligner != nil {
		patch = r.level
		r.aligner.read(patch, r.around, r.work, wide, high, r.room, restX/bin, restY/bin)
	}
	if r.kernel == nil {
		copy(dst, patch[:wide*high])
	} else {
		raster.ConvolveValid(dst, patch, r.work, r.kernel, r.kernel, wide, high)
	}
	return true
}

// noise returns the variance of the noise of one pixel's brightness over a block of
// cells, as scan has it, and at least what rounding to whole codes makes.
func noiseOf(c *light.Cells, f *picture.Frame, n *raster.NoiseCurve, x, y, wide, high int) (sum float64) {
	kr, kg, kb := f.Colour.Luma(f.Height())
	s := f.Signal()
	rounding := 1 / (12 * stat.Sq(float64(s.White-s.Black)))
	for j := y; j < y+high; j++ {
		for i := x; i < x+wide; i++ {
			at := j*c.Width + i
			r, g, b := float64(c.Signal[0][at]), float64(c.Signal[1][at]), float64(c.Signal[2][at])
			vg, _ := n.At(g)
			if f.Layout == picture.Grey {
				sum += max(vg, rounding) * n.SlopeSquared(g)
				continue
			}
			vr, _ := n.At(r)
			vb, _ := n.At(b)
			if f.Layout == picture.RGB {
				sum += kr*kr*max(vr, rounding)*n.SlopeSquared(r) + kg*kg*max(vg, rounding)*n.SlopeSquared(g) + kb*kb*max(vb, rounding)*n.SlopeSquared(b)
			} else { // the luma's noise, seen through the curve where the luma is
				sum += max(kr*kr*vr+kg*kg*vg+kb*kb*vb, rounding) * n.SlopeSquared(kr*r+kg*g+kb*b)
			}
		}
	}
	return sum / float64(wide*high) * lightUnit * lightUnit
}
