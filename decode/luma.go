package decode

import (
	"context"

	"nightpair/metrics/picture"
)

// Luma returns the frame with that index as Frame does, but with no more planes
// than tell light from dark, and in the cheapest way: many decoders then leave
// the colour undecoded. Its samples are for telling frames apart and not for
// measuring. Where the file does not say what range they have, Luma says what is
// usual for a picture with colour, as that is no longer to be seen. Going back and forth between Luma and Frame costs a fresh start of
// the decoder each time.
func (f *File) Luma(ctx context.Context, index int) (*picture.Frame, error) {
	return read(ctx, f, index, reader.luma)
}

func (f *film) luma(ctx context.Context, i int) (*picture.Frame, error) {
	f.leaveColour(true)
	return f.take(ctx, i, f.scale.luma)
}

func (q *stills) luma(ctx context.Context, i int) (*picture.Frame, error) { return q.frame(ctx, i) }

// leaveColour has the decoder leave colour out from now on, where that helps: it
// halves the work on pictures that stand alone, and adds to it where they are
// predicted.
func (v *video) leaveColour(out bool) {
	if v.grey == out || !v.intra {
		return
	}
	v.grey = out
	v.dec.options = nil
	if out {
		v.dec.options = map[string]string{"flags": "+gray"}
	}
	v.forget()
}
