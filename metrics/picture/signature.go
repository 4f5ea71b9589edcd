package picture

// Signature is a frame reduced to what tells it from its neighbours in time: the
// mean luma of a coarse grid, in 8-bit code values. Signatures are cheap enough
// to be made of every frame of a clip.
type Signature struct {
	Luma [SignatureHeight][SignatureWidth]float32
}

const (
	SignatureWidth  = 64
	SignatureHeight = 36
)

// Signature returns the frame's signature. Of an RGB frame it is that of green.
// Samples beyond the last whole cell are left out.
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
