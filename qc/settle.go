package qc

import (
	"errors"
	"fmt"

	"nightpair/metrics/picture"
)

// settle finds out what the clip and its files say of what has to be undone for
// measuring: how the eyes are packed and how each is turned.
//
// The packing is the clip's or else what the file's own stereo tag says; the
// turning of separate files is what their containers ask for, that of packed
// eyes what the stereo tag says of one of them. What only the pictures can tell
// is found out by orient.
func settle(clip Clip, f *footage) (Setup, error) {
	setup := Setup{Packing: clip.Packing, Order: OrderUnknown}
	left, right := f.left.Source(), f.right.Source()
	if !f.packed() {
		if setup.Packing == "" {
			setup.Packing = Separate
		}
		if setup.Packing != Separate {
			return setup, fmt.Errorf("two files cannot both be %s", setup.Packing)
		}
		setup.Left, setup.Right = left.Orientation, right.Orientation
		return setup, nil
	}
	if setup.Packing == "" {
		setup.Packing = left.Packing
	}
	switch setup.Packing {
	case SideBySide, TopBottom:
		setup.Left, setup.Right = mirroredEyes(left, setup.Packing)
		return setup, nil
	case "", Separate:
		return setup, errors.New("one file for both eyes, and nothing says how it holds them")
	default:
		return setup, fmt.Errorf("eyes packed as %q cannot be taken apart", setup.Packing)
	}
}

// mirroredEyes returns how each eye of a packed file is turned by what its tags
// say.
func mirroredEyes(source Source, packing Packing) (left, right picture.Orientation) {
	turned := picture.Flop
	if packing == TopBottom {
		turned = picture.Flip
	}
	switch first := source.MirroredEye == 1; {
	case source.MirroredEye == 0:
		return picture.Upright, picture.Upright
	case first != source.Inverted:
		return turned, picture.Upright
	default:
		return picture.Upright, turned
	}
}
