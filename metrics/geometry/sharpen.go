package geometry

import (
	"math"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	sharpenSteps = 4
	// sharpenReach is how far, in pixels of the finer raster, a place may move.
	sharpenReach = 1.5
	// blurredSE is the standard error, in pixels of the full raster, from which noise
	// drowns what is fine, and a wider look at a coarser raster may see more.
	blurredSE = 0.08
)

// sharpener measures matches anew on the raster where they are known best: a finer
// one as long as there is texture as fine as that, a coarser one in the noise.
type sharpener struct {
	fineLeft, fineRight *raster.Raster // nil where the full rasters are as fine as the pictures
	// turn brings the right picture into line, in pixels of the full raster.
	full     *raster.Raster
	turn     Similarity
	template template
	noise    float64 // variance of the picture's own pixels' noise
}

// all replaces the places of matches by those that are better known, and leaves out
// matches whose place nothing but noise seems to tell.
func (s *sharpener) all(matches []Match, halfLeft, halfRight *raster.Raster) (kept []Match) {
	kept = matches[:0]
	for _, m := range matches {
		finer := s.fineLeft != nil && s.sharpen(&m, s.fineLeft, s.fineRight)
		if !finer && m.SE > blurredSE*s.full.Sy {
			s.sharpen(&m, halfLeft, halfRight)
		}
		if m.SE < refineReach*s.full.Sy {
			kept = append(kept, m)
		}
	}
	return kept
}

// sharpen measures a match on another raster of both eyes' pictures, and keeps the
// result and reports true if it is better known there.
func (s *sharpener) sharpen(m *Match, left, right *raster.Raster) bool {
	turn := s.turn.on(s.full, right)
	x, y := left.Pixel(m.LeftX, m.LeftY)
	cx, cy := math.Round(x), math.Round(y)
	rx, ry := turn.Undo(right.Pixel(m.RightX, m.RightY))
	if !s.template.take(left, int(cx), int(cy)) {
		return false
	}
	if s.template.hopeless(s.noise*left.Thin, m.SE/right.Sy) {
		return false
	}
	found, ok := s.template.sharpen(right, turn, rx+cx-x, ry+cy-y)
	if !ok || found.sy*right.Sy > m.SE {
		return false
	}
	m.LeftX, m.LeftY = left.Place(cx, cy)
	m.RightX, m.RightY = right.Place(turn.apply(found.x, found.y))
	m.SE, m.Across = found.sy*right.Sy, found.sx*right.Sx
	return true
}

// sharpen refines a place of the picture in line that is known to a part of a pixel.
func (t *template) sharpen(right *raster.Raster, turn Similarity, x, y float64) (placement, bool) {
	var p [raster.PatchSize]float32
	startX, startY := x, y
	for range sharpenSteps {
		if !turn.patch(&p, right, x, y) {
			return placement{}, false
		}
		dx, dy, ok := t.step(&p)
		if !ok {
			return placement{}, false
		}
		x, y = x+dx, y+dy
		if !(math.Abs(x-startX) <= sharpenReach && math.Abs(y-startY) <= sharpenReach) {
			return placement{}, false
		}
		if max(math.Abs(dx), math.Abs(dy)) < refineDone {
			return t.judge(&p, x, y)
		}
	}
	return placement{}, false
}

// hopeless reports whether noise alone, of so much variance in the pixels of both eyes,
// leaves the template's place at least twice as uncertain down the picture as a standard
// error that is known. It saves looking for it.
func (t *template) hopeless(noise, se float64) bool {
	seen := t.structure
	seen.xx -= noise * t.noise
	seen.yy -= noise * t.noise
	inverse, ok := seen.inverted()
	return !ok || 2*noise*t.spread.along(inverse.xy, inverse.yy) > stat.Sq(2*se)
}
