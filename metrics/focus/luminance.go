package focus

import "nightpair/metrics/picture"

// luminance reads a frame's brightness in bins of bin by bin pixels, in linear light,
// because a lens spreads light and not signals. White is lightUnit. Of YCbCr it takes the
// luma through the transfer curve, of RGB the weighted sum of the channels' light.
type luminance struct {
	frame *picture.Frame
	bin   int
	light [3][]float32 // by plane and code value, the share of a bin's light
}

// lightUnit is the luminance of white.
const lightUnit = 255

// newLuminance returns the luminance of a frame in bins of that many pixels.
func newLuminance(f *picture.Frame, bin int) *luminance {
	s := &luminance{frame: f, bin: bin}
	weights := []float64{1}
	if f.Layout == picture.RGB {
		kr, kg, kb := f.Colour.LumaWeights(f.Height())
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

// holds reports whether a patch n bins high and half as wide with its top left pixel at
// (x, y), and so many bins around it, lie in the picture.
func (s *luminance) holds(n, margin, x, y int) bool {
	m := margin * s.bin
	return x >= m && y >= m && x+n/2*s.bin+m <= s.frame.Width() && y+n*s.bin+m <= s.frame.Height()
}

// read fills dst, row by row, with the patch of wide by high bins whose top left pixel is
// (x, y). It must lie in the picture.
func (s *luminance) read(dst []float32, wide, high, x, y int) {
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
