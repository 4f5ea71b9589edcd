package picture

// Orientation says how a picture is turned against the scene, as happens to
// the eye that a mirror rig sees in its glass.
type Orientation uint8

const (
	Upright Orientation = iota
	Flop                // mirrored left to right
	Flip                // mirrored top to bottom
	Turn                // turned by 180°: Flop and Flip, bit by bit
)

var orientationNames = [...]string{"upright", "flop", "flip", "turn"}

// Then returns what turning by o and then by p comes to.
func (o Orientation) Then(p Orientation) Orientation { return o ^ p }

func (o Orientation) String() string { return orientationNames[o] }

// Oriented returns the frame with o applied. Each orientation is its own
// inverse, so applying what was found undoes it. Upright returns f itself.
func (f *Frame) Oriented(o Orientation) *Frame {
	if o == Upright {
		return f
	}
	oriented := *f
	oriented.Planes = make([]Plane, len(f.Planes))
	for i, p := range f.Planes {
		oriented.Planes[i] = p.oriented(o)
	}
	return &oriented
}

func (p Plane) oriented(o Orientation) Plane {
	out := Plane{Width: p.Width, Height: p.Height, Stride: p.Width, Pix: make([]uint16, p.Width*p.Height)}
	for y := range p.Height {
		from := y
		if o == Flip || o == Turn {
			from = p.Height - 1 - y
		}
		src, dst := p.Row(from), out.Row(y)
		if o == Flip {
			copy(dst, src)
			continue
		}
		for x, v := range src {
			dst[p.Width-1-x] = v
		}
	}
	return out
}

// Half names one half of a picture that carries both eyes.
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
