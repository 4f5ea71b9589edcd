package picture

// Orientation says how a picture is mirrored or turned against the scene, as happens
// to the eye of a mirror rig that films the reflection.
type Orientation uint8

const (
	Upright Orientation = iota
	Flop                // mirrored left to right
	Flip                // mirrored top to bottom
	Turn                // turned by 180°: Flop and Flip, bit by bit
)

var orientationNames = [...]string{"upright", "flop", "flip", "turn"}

// Then returns the orientation that applying o and then p comes to.
func (o Orientation) Then(p Orientation) Orientation { return o ^ p }

// String returns the name in lower case, as in "flop".
func (o Orientation) String() string { return orientationNames[o] }

// Oriented returns the frame with o applied. Each orientation is its own
// inverse, so applying the one that was found undoes it. Upright returns f itself.
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
