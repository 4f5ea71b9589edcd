package measure

import (
	"errors"
	"fmt"

	"nightpair/qc/record"
)

// setupAsTagged finds out what the clip and its files say of what has to be undone for
// measuring: how the eyes are packed and how each is turned.
//
// The packing is the clip's or else what the file's own stereo tag says; the
// turning of separate files is what their containers ask for, that of packed
// eyes what the stereo tag says of one of them. What only the pictures can tell
// is found out by orient.
func setupAsTagged(clip record.Clip, f *footage) (record.Setup, error) {
	setup := record.Setup{Packing: clip.Packing, Order: record.OrderUnknown}
	left, right := f.left.Source(), f.right.Source()
	if !f.packed() {
		if setup.Packing == "" {
			setup.Packing = record.Separate
		}
		if setup.Packing != record.Separate {
			return setup, fmt.Errorf("two files cannot both be %s", setup.Packing)
		}
		setup.Left, setup.Right = left.Orientation, right.Orientation
		return setup, nil
	}
	if setup.Packing == "" {
		setup.Packing = left.Packing
	}
	if !setup.Packing.OneFile() {
		return setup, errors.New("one file for both eyes, and nothing says how it holds them")
	}
	if _, known := setup.Packing.Arrangement(); !known {
		return setup, fmt.Errorf("eyes packed as %q cannot be taken apart", setup.Packing)
	}
	setup.Left, setup.Right = record.MirroredEyes(left, setup.Packing)
	return setup, nil
}
