package metrics

import "slices"

// oriented returns the raster turned.
func (r *raster) oriented(o Orientation) *raster {
	if o == Upright {
		return r
	}
	out := r.blank()
	for y := range r.height {
		src := r.row(y)
		if o == Flip || o == Turn {
			src = r.row(r.height - 1 - y)
		}
		dst := out.row(y)
		copy(dst, src)
		if o == Flop || o == Turn {
			slices.Reverse(dst)
		}
	}
	return out
}
