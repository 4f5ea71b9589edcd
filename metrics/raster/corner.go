package raster

import (
	"math"

	"nightpair/metrics/stat"
)

const (
	// CornerCell is the side, in pixels of the full raster, of the cells that each give at
	// most one corner: some 1,300 in a picture with texture everywhere.
	CornerCell = 10
	// cornerMargin, in pixels of the full raster, keeps the windows of matching inside
	// the picture.
	cornerMargin = 10
	// cornerContrast is how many times the mean response of noise a corner must
	// exceed: noise alone sometimes reaches twice that, but not four times.
	cornerContrast = 4
)

// Corner is a place that differs from its neighbourhood in both directions.
type Corner struct {
	X, Y     int     // pixel of the full raster
	Strength float32 // smaller eigenvalue of the structure tensor
}

// Corners finds the best corner of each cell of the picture, in the order of the cells' rows, by
// the smaller eigenvalue of the structure tensor on the half-size raster (Shi–Tomasi).
// There are none in a picture without texture.
func Corners(l *Pyramid) []Corner {
	half := l.Half
	w, h := half.Width, half.Height
	const r = 2 // the tensor is summed over 5×5 pixels of half size
	if w < 4*r || h < 4*r {
		return nil
	}
	response := NewRaster(w, h)
	// The products of differences in the last five rows, and their sums in each column.
	type products struct{ xx, xy, yy float32 }
	var rows [2*r + 1][]products
	for i := range rows {
		rows[i] = make([]products, w)
	}
	column := make([]products, w)
	for y := 1; y < h-1; y++ {
		line := rows[y%len(rows)]
		up, mid, down := half.Row(y-1), half.Row(y), half.Row(y+1)
		for x := 1; x < w-1; x++ {
			gx, gy := mid[x+1]-mid[x-1], down[x]-up[x]
			line[x] = products{gx * gx, gx * gy, gy * gy}
		}
		if y < 2*r+1 {
			continue
		}
		for x := range column {
			var sum products
			for i := range rows {
				t := &rows[i][x]
				sum.xx += t.xx
				sum.xy += t.xy
				sum.yy += t.yy
			}
			column[x] = sum
		}
		dst := response.Row(y - r)
		for x := 1 + r; x < w-1-r; x++ {
			var sum products
			for _, t := range column[x-r : x+r+1] {
				sum.xx += t.xx
				sum.xy += t.xy
				sum.yy += t.yy
			}
			mean, diff := (sum.xx+sum.yy)/2, (sum.xx-sum.yy)/2
			dst[x] = mean - float32(math.Sqrt(float64(diff*diff+sum.xy*sum.xy)))
		}
	}

	// Noise of variance σ² in the half-size raster gives each squared difference the
	// mean 2σ². 1/12 is the variance of rounding to 8-bit code values.
	noise := stat.Sq(l.Noise())*half.NoiseGain/l.Full.NoiseGain + 1.0/12
	floor := float32(cornerContrast * 2 * noise * (2*r + 1) * (2*r + 1) / 2)

	const cell, margin = CornerCell / 2, cornerMargin / 2
	var out []Corner
	for cy := margin; cy < h-margin; cy += cell {
		for cx := margin; cx < w-margin; cx += cell {
			best, bx, by := floor, -1, -1
			for y := cy; y < min(cy+cell, h-margin); y++ {
				row := response.Row(y)
				for x := cx; x < min(cx+cell, w-margin); x++ {
					if row[x] > best {
						best, bx, by = row[x], x, y
					}
				}
			}
			if bx >= 0 {
				out = append(out, Corner{X: 2 * bx, Y: 2 * by, Strength: best})
			}
		}
	}
	return out
}
