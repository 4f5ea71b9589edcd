package metrics

import "math"

// similarity takes a pixel of a picture brought into line to the pixel of the
// picture as it was shot: scaled and turned about a centre, then moved down.
type similarity struct {
	cos, sin float64 // times the scale
	down     float64
	cx, cy   float64
}

func (s similarity) apply(x, y float64) (float64, float64) {
	dx, dy := x-s.cx, y-s.cy
	return s.cx + s.cos*dx - s.sin*dy, s.cy + s.sin*dx + s.cos*dy + s.down
}

// undo takes a pixel of the picture as it was shot to the picture in line.
func (s similarity) undo(x, y float64) (float64, float64) {
	dx, dy := x-s.cx, y-s.cy-s.down
	size := s.cos*s.cos + s.sin*s.sin
	return s.cx + (s.cos*dx+s.sin*dy)/size, s.cy + (s.cos*dy-s.sin*dx)/size
}

// similarity returns the turn, scale and drop that bring a full-size right
// picture into line.
func (g rough) similarity(full *raster) similarity {
	s := similarity{cos: 1}.with(terms{termRoll: g.roll, termZoom: g.zoom})
	s.down = g.shift * quarter
	s.cx, s.cy = float64(full.width-1)/2, float64(full.height-1)/2
	return s
}

// on returns the same for the pixels of another raster of the picture.
func (s similarity) on(from, to *raster) similarity {
	x, y := from.place(s.cx, s.cy)
	s.cx, s.cy = to.pixel(x, y)
	s.down *= from.sy / to.sy
	return s
}

// plain reports whether the similarity turns and scales nothing.
func (s similarity) plain() bool { return s.cos == 1 && s.sin == 0 }

// warp samples r where s says; outside of it the nearest pixel stands in.
func (s similarity) warp(r *raster) *raster {
	out := r.blank()
	x, y := s.apply(0, 0)
	first, rows := s.span(y, out.width, out.height)
	s.resample(out.pix, out.width, r, x, y, first, make([]float32, rows*out.width))
	return out
}

// turnedRows is how many rows of a picture a patch may reach over that is turned and
// scaled, with those that the filter takes: enough for alignTilt.
const turnedRows = patchSide*13/10 + tapCount + 2

// patch samples r where s shows the surroundings of (x, y). It reports false where the
// filter would leave the picture or take more rows than turnedRows.
func (s similarity) patch(dst *[patchSize]float32, r *raster, x, y float64) bool {
	cx, cy := s.apply(x, y)
	if s.plain() {
		return r.patch(dst, cx, cy)
	}
	const aside = tapCount // the filter's half, and what its slant takes
	reach := (math.Abs(s.cos)+math.Abs(s.sin))*patchRadius + aside
	if cx < reach || cy < reach || cx >= float64(r.width-1)-reach || cy >= float64(r.height-1)-reach {
		return false
	}
	var mid [turnedRows * patchSide]float32
	left, top := s.apply(x-patchRadius, y-patchRadius)
	first, rows := s.span(top, patchSide, patchSide)
	if rows > turnedRows {
		return false
	}
	s.resample(dst[:], patchSide, r, left, top, first, mid[:rows*patchSide])
	return true
}

// span returns the rows that the filter takes to fill so many columns and rows, the
// first pixel of which is shown at row y.
func (s similarity) span(y float64, width, height int) (first, rows int) {
	low, high := y, y+s.cos*float64(height-1)
	if aside := s.sin * float64(width-1); aside < 0 {
		low += aside
	} else {
		high += aside
	}
	first = int(math.Floor(low)) - tapCount/2 + 1
	return first, int(math.Floor(high)) + tapCount/2 + 2 - first
}

// resample fills dst, so many columns wide, with what r shows where s says, its first
// pixel at (x, y). It filters along the rows of r first, into mid, on a slant that puts
// the places of each column of dst one below the other, then down the columns (E.
// Catmull, A. R. Smith, "3-D transformations of images in scanline order", Computer
// Graphics 14(3), 1980; from memory). Mid holds the rows of r from first on.
func (s similarity) resample(dst []float32, width int, r *raster, x, y float64, first int, mid []float32) {
	slant := s.sin / s.cos
	step := toFixed(s.cos + s.sin*slant)
	for k := 0; k*width < len(mid); k++ {
		row := r.row(min(max(first+k, 0), r.height-1))
		glide(mid[k*width:][:width], row, toFixed(x-slant*(float64(first+k)-y)), step)
	}
	step = toFixed(s.sin)
	for j := 0; j*width < len(dst); j++ {
		at := toFixed(y + s.cos*float64(j) - float64(first))
		out := dst[j*width:][:width]
		for i := range out {
			y0, v := split(at)
			a := mid[(y0-2)*width+i:]
			out[i] = v[0]*a[0] + v[1]*a[width] + v[2]*a[2*width] + v[3]*a[3*width] + v[4]*a[4*width] + v[5]*a[5*width]
			at += step
		}
	}
}
