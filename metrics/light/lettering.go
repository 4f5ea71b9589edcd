package light

import "nightpair/metrics/raster"

const (
	letteringBlock = 12 // width and height of a block in pixels of the full raster
	// minLetteringStep is the least step between neighbouring pixels of lettering, in
	// 8-bit code values: it is drawn, not seen through a lens.
	minLetteringStep = 80
	// minLetteringDensity is the least share of such steps among a block's. Where the
	// other eye has more than maxOtherDensity of that within otherReach blocks to either
	// side, they belong to a thing that both eyes see.
	minLetteringDensity = 0.04
	maxOtherDensity     = 0.3
	otherReach          = 6
	// letteringMargin is how far the box behind lettering may reach, in blocks.
	letteringMargin = 2
	// MinLettering is the smallest region of lettering that counts, and maxLettering the
	// largest amount of it, as shares of the picture: if there is more, one eye is sharp
	// and the other is not.
	MinLettering = 0.001
	maxLettering = 0.15
)

// Lettering is where one eye's picture has burnt-in graphics that the other's does not have.
type Lettering struct {
	width, height int // blocks
	mask          []bool
	count         int
}

// FindLettering finds the burnt-in graphics of the left and of the right eye alone, by their
// full rasters, which must have one size.
func FindLettering(left, right *raster.Raster) [2]*Lettering {
	w, h := left.Width/letteringBlock, left.Height/letteringBlock
	l, r := hardSteps(left), hardSteps(right)
	return [2]*Lettering{newLettering(l, r, w, h), newLettering(r, l, w, h)}
}

// Share returns the share of the picture that lettering covers, 0 to 1.
func (l *Lettering) Share() float64 { return float64(l.count) / float64(max(len(l.mask), 1)) }

// hardSteps returns the share of hard steps in each block, across or down, whichever is
// smaller: letters have both, interlace combing has one.
func hardSteps(r *raster.Raster) []float32 {
	w, h := r.Width/letteringBlock, r.Height/letteringBlock
	out := make([]float32, w*h)
	across, down := make([]int, w), make([]int, w)
	for by := range h {
		clear(across)
		clear(down)
		for y := by * letteringBlock; y < (by+1)*letteringBlock; y++ {
			row, next := r.Row(y), r.Row(min(y+1, r.Height-1))
			for x := range w {
				for i := x * letteringBlock; i < (x+1)*letteringBlock; i++ {
					if d := row[min(i+1, r.Width-1)] - row[i]; d > minLetteringStep || d < -minLetteringStep {
						across[x]++
					}
					if d := next[i] - row[i]; d > minLetteringStep || d < -minLetteringStep {
						down[x]++
					}
				}
			}
		}
		for x := range w {
			out[by*w+x] = float32(min(across[x], down[x])) / (letteringBlock * letteringBlock)
		}
	}
	return out
}

// newLettering finds the blocks of w by h that have hard steps in one eye and none near
// them in the other, by the shares that hardSteps returns.
func newLettering(own, other []float32, w, h int) *Lettering {
	l := &Lettering{width: w, height: h, mask: make([]bool, w*h)}
	for y := range h {
		for x := range w {
			v := own[y*w+x]
			if v < minLetteringDensity {
				continue
			}
			alone := true
			for j := max(y-1, 0); j <= min(y+1, h-1) && alone; j++ {
				for i := max(x-otherReach, 0); i <= min(x+otherReach, w-1); i++ {
					if other[j*w+i] > maxOtherDensity*v {
						alone = false
						break
					}
				}
			}
			l.mask[y*w+x] = alone
		}
	}
	for _, region := range regions(l.mask, w) {
		if float64(len(region)) < MinLettering*float64(w*h) {
			for _, i := range region {
				l.mask[i] = false
			}
			continue
		}
		l.count += len(region)
	}
	if l.Share() > maxLettering {
		clear(l.mask)
		l.count = 0
	}
	return l
}

// covers reports whether a place of the full raster lies in a block of lettering or
// within letteringMargin of one.
func (l *Lettering) covers(x, y int) bool {
	if l.count == 0 {
		return false
	}
	bx, by := x/letteringBlock, y/letteringBlock
	const m = letteringMargin
	for j := max(by-m, 0); j <= min(by+m, l.height-1); j++ {
		for i := max(bx-m, 0); i <= min(bx+m, l.width-1); i++ {
			if l.mask[j*l.width+i] {
				return true
			}
		}
	}
	return false
}
