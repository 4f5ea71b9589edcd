package qc

import (
	"errors"
	"fmt"
)

// settle finds out, before anything is measured, what has to be undone for
// measuring: how the eyes are packed, how each is turned, which is which, and
// by how many frames one is late.
//
// The packing is the clip's or else what the file's own stereo tag says; the
// turning of separate files is what their containers ask for. Nothing is read
// from the pictures, so the order of the eyes stays unknown and no slip is
// assumed.
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
		return setup, nil
	case "", Separate:
		return setup, errors.New("one file for both eyes, and nothing says how it holds them")
	default:
		return setup, fmt.Errorf("eyes packed as %q cannot be taken apart", setup.Packing)
	}
}
