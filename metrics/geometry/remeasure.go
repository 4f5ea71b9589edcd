package geometry

import (
	"math"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	remeasureSteps = 4
	// remeasureReach is how far, in pixels of the other raster, a place may move.
	remeasureReach = 1.5
	// noisySE is the standard error, in pixels of the full raster, from which on noise hides
	// fine texture and a larger patch, on a coarser raster, may be more exact.
	noisySE = 0.08
)

// remeasurer measures matches again on the raster where they are most exact: a finer one as
// long as there is texture as fine as that, a coarser one in noise.
type remeasurer struct {
	fineLeft, fineRight *raster.Raster // nil where the full rasters have the frame's own pixels
	full                *raster.Raster // the right one
	warp                Similarity     // aligns the right picture, in pixels of full
	template            template
	noise               float64 // variance of the noise of the frame's pixels
}

// all replaces the places of matches by those that are more exact, and leaves out matches
// whose texture is hardly more than noise. It reuses the memory of matches.
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

// remeasure measures a match on another raster of both eyes' pictures. If it is more exact
// there, it replaces the match and reports true.
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
	m.VerticalSE, m.parallaxSE = found.sy*right.Sy, found.sx*right.Sx
	return true
}

// remeasure refines a place of the warped right picture that is known to a fraction of a
// pixel. It reports false as refine does.
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

// tooNoisy reports whether noise of that variance in the pixels of both eyes makes the vertical
// standard error of the template at least twice se. It saves a search that cannot help.
func (t *template) tooNoisy(noise, se float64) bool {
	signal := t.structure
	signal.xx -= noise * t.noiseGain
	signal.yy -= noise * t.noiseGain
	inverse, ok := signal.inverted()
	return !ok || 2*noise*t.productVariance.along(inverse.xy, inverse.yy) > stat.Sq(2*se)
}
