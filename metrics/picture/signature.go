package picture

// Signature is a frame reduced to what changes over time: the mean luma of the cells of a
// coarse grid, in 8-bit code values, row by row from the top. Signatures are cheap enough
// to be made of every frame of a clip.
type Signature struct {
	Luma [SignatureHeight][SignatureWidth]float32
}

// The cells of a signature, across and down.
const (
	SignatureWidth  = 64
	SignatureHeight = 36
)

// Signature returns the frame's signature; of an RGB frame, that of green. Cells are of a whole
// number of samples, centred in the picture, so that a rim of up to 32 samples is left out. A
// picture smaller than the grid is enlarged to it.
func (f *Frame) Signature() *Signature {
	p := f.Planes[0]
	if f.Layout == RGB {
		p = f.Planes[1]
	}
	s := &Signature{}
	nx, ny := p.Width/SignatureWidth, p.Height/SignatureHeight
	if nx == 0 || ny == 0 {
		boxes := p.Boxed(SignatureWidth, SignatureHeight)
		scale := 1 / float32(int(1)<<(f.Depth-8))
		for i, v := range boxes {
			s.Luma[i/SignatureWidth][i%SignatureWidth] = v * scale
		}
		return s
	}
	scale := 1 / float32(nx*ny*int(1)<<(f.Depth-8))
	x0, y0 := (p.Width-nx*SignatureWidth)/2, (p.Height-ny*SignatureHeight)/2
	var sums [SignatureWidth]uint32
	for j := range s.Luma {
		clear(sums[:])
		for k := range ny {
			AddBoxes(sums[:], p.Row(y0 + j*ny + k)[x0:], nx)
		}
		for i, v := range sums {
			s.Luma[j][i] = float32(v) * scale
		}
	}
	return s
}

// Oriented returns the signature of the frame with o applied.
func (s *Signature) Oriented(o Orientation) *Signature {
	if o == Upright {
		return s
	}
	oriented := &Signature{}
	for j := range s.Luma {
		from := j
		if o == Flip || o == Turn {
			from = SignatureHeight - 1 - j
		}
		for i := range s.Luma[j] {
			at := i
			if o == Flop || o == Turn {
				at = SignatureWidth - 1 - i
			}
			oriented.Luma[j][i] = s.Luma[from][at]
		}
	}
	return oriented
}
