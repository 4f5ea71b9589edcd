package geometry

import (
	"math"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	remeasureSteps = 4
	// sharpenReach is how far, in pixels of the finer raster, a place may move.
	remeasureReach = 1.5
	// blurredSE is the standard error, in pixels of the full raster, from which noise
	// drowns what is fine, and a wider look at a coarser raster may see more.
	noisySE = 0.08
)

// sharpener measures matches anew on the raster where they are known best: a finer
// one as long as there is texture as fine as that, a coarser one in the noise.
type remeasurer struct {
	fineLeft, fineRight *raster.Raster // nil where the full rasters are as fine as the pictures
	// turn brings the right picture into line, in pixels of the full raster.
	full     *raster.Raster
	warp     Similarity
	template template
	noise    float64 // variance of the picture's own pixels' noise
}

// all replaces the places of matches by those that are better known, and leaves out
// matches whose place nothing but noise seems to tell.
func (s *remeasurer) all(matches []Match, halfLeft, halfRight *raster.Raster) (kept []Match) {
	kept = matches[:0]
	for _, m := range matches {
		finer := s.fineLeft != nil && s.remeasure(&m, s.fineLeft, s.fineRight)
		if !finer && m.VerticalSE > noisySE*s.full.Sy {
			s.remeasure(&m, halfLeft, halfRight)
		}
		if m.VerticalSE < refineReach*s.full.Sy {
			kept = append(kept, m)
		}
	}
	return kept
}

// sharpen measures a match on another raster of both eyes' pictures, and keeps the
// result and reports true if it is better known there.
func (s *remeasurer) remeasure(m *Match, left, right *raster.Raster) bool {
	warp := s.warp.onRaster(s.full, right)
	x, y := left.Pixel(m.LeftX, m.LeftY)
	cx, cy := math.Round(x), math.Round(y)
	rx, ry := warp.Undo(right.Pixel(m.RightX, m.RightY))
	if !s.template.prepare(left, int(cx), int(cy)) {
		return false
	}
	if s.template.tooNoisy(s.noise*left.NoiseGain, m.VerticalSE/right.Sy) {
		return false
	}
	found, ok := s.template.remeasure(right, warp, rx+cx-x, ry+cy-y)
	if !ok || found.sy*right.Sy > m.VerticalSE {
		return false
	}
	m.LeftX, m.LeftY = left.Place(cx, cy)
	m.RightX, m.RightY = right.Place(warp.apply(found.x, found.y))
	m.VerticalSE, m.ParallaxSE = found.sy*right.Sy, found.sx*right.Sx
	return true
}

// sharpen refines a place of the picture in line that is known to a part of a pixel.
func (t *template) remeasure(right *raster.Raster, warp Similarity, x, y float64) (placement, bool) {
	var p [raster.PatchSize]float32
	startX, startY := x, y
	for range remeasureSteps {
		if !warp.patch(&p, right, x, y) {
			return placement{}, false
		}
		dx, dy, ok := t.step(&p)
		if !ok {
			return placement{}, false
		}
		x, y = x+dx, y+dy
		if !(math.Abs(x-startX) <= remeasureReach && math.Abs(y-startY) <= remeasureReach) {
			return placement{}, false
		}
		if max(math.Abs(dx), math.Abs(dy)) < refineUntil {
			return t.measure(&p, x, y)
		}
	}
	return placement{}, false
}

// hopeless reports whether noise alone, of so much variance in the pixels of both eyes,
// leaves the template's place at least twice as uncertain down the picture as a standard
// error that is known. It saves looking for it.
func (t *template) tooNoisy(noise, se float64) bool {
	signal := t.structure
	signal.xx -= noise * t.noiseGain
	signal.yy -= noise * t.noiseGain
	inverse, ok := signal.inverted()
	return !ok || 2*noise*t.productVariance.along(inverse.xy, inverse.yy) > stat.Sq(2*se)
}
