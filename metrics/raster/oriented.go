package raster

import (
	"slices"

	"nightpair/metrics/picture"
)

// Oriented returns the raster turned.
func (r *Raster) Oriented(o picture.Orientation) *Raster {
	if o == picture.Upright {
		return r
	}
	out := r.Blank()
	for y := range r.Height {
		src := r.Row(y)
		if o == picture.Flip || o == picture.Turn {
			src = r.Row(r.Height - 1 - y)
		}
		dst := out.Row(y)
		copy(dst, src)
		if o == picture.Flop || o == picture.Turn {
			slices.Reverse(dst)
		}
	}
	return out
}
