package raster

import "nightpair/metrics/picture"

// Luma returns a frame's luma reduced by averaging boxes of nx by ny pixels; columns and
// rows that fill no box are left out, half of them on either side.
func Luma(f *picture.Frame, nx, ny int) *Raster { return lumaRaster(f, nx, ny) }
