package light

import "nightpair/metrics/raster"

const (
	OverlayBlock = 12 // pixels of the full raster
	// overlayEdge is the least step between pixels side by side of lettering, in
	// code values of 8 bits: it is drawn, not seen through a lens.
	overlayEdge = 80
	// overlayDense is the least share of such steps among a block's, and
	// overlayBare the largest share of that which the other eye may show in the
	// same rows within overlayReach blocks, so that things and their edges do not
	// count.
	overlayDense = 0.04
	overlayBare  = 0.3
	overlayReach = 6
	// overlayMargin is how far the box behind lettering may reach, in blocks.
	overlayMargin = 2
	// OverlayPatch is the least share of the picture that counts in one piece, and
	// maxOverlay the largest that is still lettering: more says that one eye is
	// sharp and the other not.
	OverlayPatch = 0.001
	maxOverlay   = 0.15
)

// Lettering is where one eye's picture is written on and the other's is not.
type Lettering struct {
	width, height int // blocks
	mask          []bool
	count         int
}

func (l *Lettering) Share() float64 { return float64(l.count) / float64(max(len(l.mask), 1)) }

// steps returns the share of hard steps in each block, across or down, whichever
// are fewer: letters have both, and two fields woven into one have but one.
func HardSteps(r *raster.Raster) []float32 {
	w, h := r.Width/OverlayBlock, r.Height/OverlayBlock
	out := make([]float32, w*h)
	across, down := make([]int, w), make([]int, w)
	for by := range h {
		clear(across)
		clear(down)
		for y := by * OverlayBlock; y < (by+1)*OverlayBlock; y++ {
			row, next := r.Row(y), r.Row(min(y+1, r.Height-1))
			for x := range w {
				for i := x * OverlayBlock; i < (x+1)*OverlayBlock; i++ {
					if d := row[min(i+1, r.Width-1)] - row[i]; d > overlayEdge || d < -overlayEdge {
						across[x]++
					}
					if d := next[i] - row[i]; d > overlayEdge || d < -overlayEdge {
						down[x]++
					}
				}
			}
		}
		for x := range w {
			out[by*w+x] = float32(min(across[x], down[x])) / (OverlayBlock * OverlayBlock)
		}
	}
	return out
}

func NewLettering(own, other []float32, w, h int) *Lettering {
	l := &Lettering{width: w, height: h, mask: make([]bool, w*h)}
	for y := range h {
		for x := range w {
			v := own[y*w+x]
			if v < overlayDense {
				continue
			}
			bare := true
			for j := max(y-1, 0); j <= min(y+1, h-1) && bare; j++ {
				for i := max(x-overlayReach, 0); i <= min(x+overlayReach, w-1); i++ {
					if other[j*w+i] > overlayBare*v {
						bare = false
						break
					}
				}
			}
			l.mask[y*w+x] = bare
		}
	}
	for _, part := range regions(l.mask, w) {
		if float64(len(part)) < OverlayPatch*float64(w*h) {
			for _, i := range part {
				l.mask[i] = false
			}
			continue
		}
		l.count += len(part)
	}
	if l.Share() > maxOverlay {
		clear(l.mask)
		l.count = 0
	}
	return l
}

// covers reports whether a place of the full raster lies in a block of lettering or
// within overlayMargin of one.
func (l *Lettering) covers(x, y int) bool {
	if l.count == 0 {
		return false
	}
	bx, by := x/OverlayBlock, y/OverlayBlock
	const m = overlayMargin
	for j := max(by-m, 0); j <= min(by+m, l.height-1); j++ {
		for i := max(bx-m, 0); i <= min(bx+m, l.width-1); i++ {
			if l.mask[j*l.width+i] {
				return true
			}
		}
	}
	return false
}
