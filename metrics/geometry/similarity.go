package geometry

import (
	"math"

	"nightpair/metrics/raster"
)

// Similarity takes a place of an aligned picture to the place of the picture as shot: rotated
// and scaled about a centre, then moved down. The unit is that of its coordinates: picture
// heights in a Fit, pixels of a raster elsewhere.
type Similarity struct {
	Cos, Sin float64 // of the clockwise rotation, times the scale
	Down     float64
	cx, cy   float64 // the centre
}

// apply takes a place of the aligned picture to the picture as shot.
func (s Similarity) apply(x, y float64) (float64, float64) {
	dx, dy := x-s.cx, y-s.cy
	return s.cx + s.Cos*dx - s.Sin*dy, s.cy + s.Sin*dx + s.Cos*dy + s.Down
}

// Undo takes a place of the picture as shot to the aligned picture.
func (s Similarity) Undo(x, y float64) (float64, float64) {
	dx, dy := x-s.cx, y-s.cy-s.Down
	size := s.Cos*s.Cos + s.Sin*s.Sin
	return s.cx + (s.Cos*dx+s.Sin*dy)/size, s.cy + (s.Cos*dy-s.Sin*dx)/size
}

// With returns the similarity that includes the terms offset, roll and zoom in addition: a
// picture rotated by γ and scaled by s shows height y at column x' lower by
// x'·tan γ + y·(s/cos γ − 1).
func (s Similarity) With(t Terms) Similarity {
	angle := math.Atan(t[TermRoll])
	scale := (1 + t[TermZoom]) * math.Cos(angle)
	cos, sin := scale*math.Cos(angle), scale*math.Sin(angle)
	return Similarity{
		Cos: s.Cos*cos - s.Sin*sin, Sin: s.Sin*cos + s.Cos*sin,
		Down: s.Down + s.Cos*t[TermOffset],
	}
}

// similarity returns the alignment, found on the quarter raster, in pixels of the full one.
func (g roughAlignment) similarity(full *raster.Raster) Similarity {
	s := Similarity{Cos: 1}.With(Terms{TermRoll: g.roll, TermZoom: g.zoom})
	s.Down = g.shift * raster.Quarter
	s.cx, s.cy = float64(full.Width-1)/2, float64(full.Height-1)/2
	return s
}

// onRaster returns the same similarity in the pixels of another raster of the picture.
func (s Similarity) onRaster(from, to *raster.Raster) Similarity {
	x, y := from.Place(s.cx, s.cy)
	s.cx, s.cy = to.Pixel(x, y)
	s.Down *= from.Sy / to.Sy
	return s
}

// isShift reports whether the similarity neither rotates nor scales.
func (s Similarity) isShift() bool { return s.Cos == 1 && s.Sin == 0 }

// warp returns the aligned picture: r sampled where s takes each pixel. Outside of r the
// nearest pixel stands in.
func (s Similarity) warp(r *raster.Raster) *raster.Raster {
	out := r.Blank()
	x, y := s.apply(0, 0)
	first, rows := s.span(y, out.Width, out.Height)
	s.resample(out.Pix, out.Width, r, x, y, first, make([]float32, rows*out.Width))
	return out
}

// maxWarpRows is the largest number of rows that a rotated and scaled patch may be sampled
// from, with those that the filter needs: enough for maxRollZoom.
const maxWarpRows = raster.PatchSide*13/10 + raster.TapCount + 2

// patch samples the patch around (x, y) of the aligned picture from r. It reports false where
// the filter would leave the picture or need more rows than maxWarpRows.
func (s Similarity) patch(dst *[raster.PatchSize]float32, r *raster.Raster, x, y float64) bool {
	cx, cy := s.apply(x, y)
	if s.isShift() {
		return r.Patch(dst, cx, cy)
	}
	const aside = raster.TapCount // the filter's half, and what its slant takes
	reach := (math.Abs(s.Cos)+math.Abs(s.Sin))*raster.PatchRadius + aside
	if cx < reach || cy < reach || cx >= float64(r.Width-1)-reach || cy >= float64(r.Height-1)-reach {
		return false
	}
	var mid [maxWarpRows * raster.PatchSide]float32
	x0, y0 := s.apply(x-raster.PatchRadius, y-raster.PatchRadius)
	first, rows := s.span(y0, raster.PatchSide, raster.PatchSide)
	if rows > maxWarpRows {
		return false
	}
	s.resample(dst[:], raster.PatchSide, r, x0, y0, first, mid[:rows*raster.PatchSide])
	return true
}

// span returns the rows of the picture as shot that the filter needs to fill an aligned
// picture of the given size whose first pixel lies at row y.
func (s Similarity) span(y float64, width, height int) (first, rows int) {
	low, high := y, y+s.Cos*float64(height-1)
	if slope := s.Sin * float64(width-1); slope < 0 {
		low += slope
	} else {
		high += slope
	}
	first = int(math.Floor(low)) - raster.TapCount/2 + 1
	return first, int(math.Floor(high)) + raster.TapCount/2 + 2 - first
}

// resample fills dst, so many columns wide, with r sampled where s says, its first pixel at
// (x, y). It works in two passes: along the rows of r, into mid, with a slant that puts
// the places of each column of dst one below the other, then down the columns (E. Catmull,
// A. R. Smith, "3-D transformations of images in scanline order", Computer Graphics 14(3),
// 1980; from memory). Mid holds the rows of r from first on.
func (s Similarity) resample(dst []float32, width int, r *raster.Raster, x, y float64, first int, mid []float32) {
	slant := s.Sin / s.Cos
	step := raster.ToFixed(s.Cos + s.Sin*slant)
	for k := 0; k*width < len(mid); k++ {
		row := r.Row(min(max(first+k, 0), r.Height-1))
		raster.ResampleRow(mid[k*width:][:width], row, raster.ToFixed(x-slant*(float64(first+k)-y)), step)
	}
	step = raster.ToFixed(s.Sin)
	for j := 0; j*width < len(dst); j++ {
		at := raster.ToFixed(y + s.Cos*float64(j) - float64(first))
		out := dst[j*width:][:width]
		for i := range out {
			y0, v := raster.TapsAt(at)
			a := mid[(y0-2)*width+i:]
			out[i] = v[0]*a[0] + v[1]*a[width] + v[2]*a[2*width] + v[3]*a[3*width] + v[4]*a[4*width] + v[5]*a[5*width]
			at += step
		}
	}
}
