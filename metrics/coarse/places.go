package coarse

const (
	// placeCell is the side in small pixels of the cells that give one place each.
	placeCell = 11
	// placeRim is how far from the rim places keep.
	placeRim = patchRadius + 3
	// minCorner is the least smaller eigenvalue of the structure tensor, per pixel of the
	// patch, in squared code values per pixel: below it rounding to whole code values
	// is as strong as the texture.
	minCorner = 0.5
)

// places returns the best corner of each cell, by the smaller eigenvalue of the structure
// tensor over a patch.
func (s sheet) places() (list [][2]int) {
	w, h := s.width, s.height
	xx, xy, yy := newTable(w, h), newTable(w, h), newTable(w, h)
	for y := 1; y < h-1; y++ {
		for x := 1; x < w-1; x++ {
			i := y*w + x
			gx, gy := (s.pix[i+1]-s.pix[i-1])/2, (s.pix[i+w]-s.pix[i-w])/2
			xx.put(x, y, gx*gx)
			xy.put(x, y, gx*gy)
			yy.put(x, y, gy*gy)
		}
	}
	xx.add()
	xy.add()
	yy.add()
	const n = (2*patchRadius + 1) * (2*patchRadius + 1)
	for cy := placeRim; cy < h-placeRim; cy += placeCell {
		for cx := placeRim; cx < w-placeRim; cx += placeCell {
			best, at := float32(minCorner*n), [2]int{-1, -1}
			for y := cy; y < min(cy+placeCell, h-placeRim); y++ {
				for x := cx; x < min(cx+placeCell, w-placeRim); x++ {
					a, b, c := float32(xx.around(x, y, patchRadius)), float32(xy.around(x, y, patchRadius)), float32(yy.around(x, y, patchRadius))
					// The smaller eigenvalue exceeds best where both of these hold.
					if p, q := a-best, c-best; p > 0 && q > 0 && p*q > b*b {
						best = smallerEigenvalue(a, b, c)
						at = [2]int{x, y}
					}
				}
			}
			if at[0] >= 0 {
				list = append(list, at)
			}
		}
	}
	return list
}

// table is a summed-area table (F. Crow, SIGGRAPH 1984).
type table struct {
	width int // of the table: one more than the picture's
	sum   []float64
}

func newTable(w, h int) *table { return &table{w + 1, make([]float64, (w+1)*(h+1))} }

func (t *table) put(x, y int, v float32) { t.sum[(y+1)*t.width+x+1] = float64(v) }

func (t *table) add() {
	for i := t.width; i < len(t.sum); i++ {
		if i%t.width != 0 {
			t.sum[i] += t.sum[i-1] + t.sum[i-t.width] - t.sum[i-t.width-1]
		}
	}
}

// around returns the sum over the patch of a radius about a pixel.
func (t *table) around(x, y, radius int) float64 {
	top, bottom := (y-radius)*t.width, (y+radius+1)*t.width
	left, right := x-radius, x+radius+1
	return t.sum[bottom+right] - t.sum[bottom+left] - t.sum[top+right] + t.sum[top+left]
}
