package encode

import (
	"fmt"

	"nightpair/metrics/picture"
)

// SideBySide returns one frame with the left eye in its left half and the
// right eye in its right half, twice as wide as each. The eyes must have the
// same size and format.
func SideBySide(left, right *picture.Frame) (*picture.Frame, error) {
	if !sameFormat(left, right) {
		return nil, fmt.Errorf("the eyes differ in size or format")
	}
	out := *left
	out.Planes = make([]picture.Plane, len(left.Planes))
	for i, l := range left.Planes {
		r := right.Planes[i]
		p := picture.Plane{Width: 2 * l.Width, Height: l.Height, Stride: 2 * l.Width, Pix: make([]uint16, 2*l.Width*l.Height)}
		for y := range l.Height {
			copy(p.Row(y), l.Row(y))
			copy(p.Row(y)[l.Width:], r.Row(y))
		}
		out.Planes[i] = p
	}
	return &out, nil
}
