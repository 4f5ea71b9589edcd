package raster

import "math"

// Between returns the raster between its pixels, false outside of it.
func (r *Raster) Bilinear(x, y float64) (float64, bool) {
	i, j := int(math.Floor(x)), int(math.Floor(y))
	if i < 0 || j < 0 || i+1 >= r.Width || j+1 >= r.Height {
		return 0, false
	}
	s, t := float32(x-float64(i)), float32(y-float64(j))
	up, down := r.Row(j)[i:i+2], r.Row(j + 1)[i:i+2]
	return float64((1-t)*((1-s)*up[0]+s*up[1]) + t*((1-s)*down[0]+s*down[1])), true
}
