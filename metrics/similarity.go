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
	for y := range out.height {
		row := out.row(y)
		sx, sy := s.apply(0, float64(y))
		for x := range row {
			px, py := sx+s.cos*float64(x), sy+s.sin*float64(x)
			x0, y0 := int(math.Floor(px)), int(math.Floor(py))
			if x0 < 2 || y0 < 2 || x0 >= r.width-3 || y0 >= r.height-3 {
				row[x] = r.pix[min(max(y0, 0), r.height-1)*r.width+min(max(x0, 0), r.width-1)]
				continue
			}
			row[x] = r.sample(px, py)
		}
	}
	return out
}

// patch samples r where s shows the surroundings of (x, y). It reports false where the
// filter would leave the picture.
func (s similarity) patch(dst *[patchSize]float32, r *raster, x, y float64) bool {
	x, y = s.apply(x, y)
	if s.plain() {
		return r.patch(dst, x, y)
	}
	reach := (math.Abs(s.cos)+math.Abs(s.sin))*patchRadius + tapCount/2
	if x < reach || y < reach || x >= float64(r.width-1)-reach || y >= float64(r.height-1)-reach {
		return false
	}
	for j := range patchSide {
		px := x - s.cos*patchRadius - s.sin*float64(j-patchRadius)
		py := y - s.sin*patchRadius + s.cos*float64(j-patchRadius)
		for i := range patchSide {
			dst[j*patchSide+i] = r.sample(px, py)
			px, py = px+s.cos, py+s.sin
		}
	}
	return true
}

// sample returns the value between pixels, away from the border.
func (r *raster) sample(x, y float64) (sum float32) {
	x0, y0 := int(x), int(y)
	h := &shadeTaps[int((x-float64(x0))*shades+0.5)]
	v := &shadeTaps[int((y-float64(y0))*shades+0.5)]
	at := (y0-2)*r.width + x0 - 2
	for _, w := range v {
		p := r.pix[at : at+tapCount : at+tapCount]
		sum += w * (h[0]*p[0] + h[1]*p[1] + h[2]*p[2] + h[3]*p[3] + h[4]*p[4] + h[5]*p[5])
		at += r.width
	}
	return sum
}
