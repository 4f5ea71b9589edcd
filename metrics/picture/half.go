package picture

// Half is one half of a picture that carries both eyes.
type Half uint8

const (
	LeftHalf Half = iota
	RightHalf
	TopHalf
	BottomHalf
)

// Half returns one half of the frame, sharing its samples. An odd column or
// row in the middle belongs to neither half. Where the halves were squeezed to
// share one picture, the caller corrects PixelAspect.
func (f *Frame) Half(h Half) *Frame {
	half := *f
	half.Planes = make([]Plane, len(f.Planes))
	for i, p := range f.Planes {
		half.Planes[i] = p.half(h)
	}
	return &half
}

func (p Plane) half(h Half) Plane {
	out := p
	start := 0
	switch h {
	case LeftHalf, RightHalf:
		out.Width = p.Width / 2
		if h == RightHalf {
			start = p.Width - out.Width
		}
	case TopHalf, BottomHalf:
		out.Height = p.Height / 2
		if h == BottomHalf {
			start = (p.Height - out.Height) * p.Stride
		}
	}
	out.Pix = p.Pix[start:]
	return out
}
