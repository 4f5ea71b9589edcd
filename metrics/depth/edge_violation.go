package depth

import (
	"sync"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// EdgeViolation is a stretch of an edge of the picture that crosses something in front of the
// screen: the eyes see it end at a frame that is farther away than the thing itself.
type EdgeViolation struct {
	Edge string `json:"edge"` // "left", "right", "top" or "bottom"
	// From and To bound the stretch: % of the picture height from the top, or for
	// the top and bottom edges % of the width from the left.
	From float64 `json:"from"`
	To   float64 `json:"to"`
	// Parallax is that of the thing where it is nearest: % of the picture width, negative.
	Parallax float64 `json:"parallax"`
}

// Mask returns which eye's picture shows a strip at its edge that the other eye's does not, and
// how wide a mask would hide it, in % of the picture width: a floating window. Only the
// side edges take one; for the others eye is empty and width 0. What stands in front of the
// screen at the left edge continues in the left eye's picture, at the right edge in the
// right eye's (plane geometry).
func (c EdgeViolation) Mask() (eye string, width float64) {
	switch c.Edge {
	case "left", "right":
		return c.Edge, -c.Parallax
	}
	return "", 0
}

// Edges is what stands along the four edges of the picture.
type Edges struct{ left, right, top, bottom edge }

// FindEdges finds what stands along the four edges. Left and right are the full rasters; noise
// returns the standard deviation of the left one's noise, and is called once at most.
func FindEdges(m *Map, g *geometry.Fit, left, right *raster.Raster, noise func() float64) (e Edges) {
	c := alignedMap{m, g, left, right, sync.OnceValue(noise)}
	e.left, e.right = c.vertical(true), c.vertical(false)
	e.top, e.bottom = c.horizontal(true), c.horizontal(false)
	for _, e := range []*edge{&e.left, &e.right, &e.top, &e.bottom} {
		e.findStretches()
	}
	return e
}

// Violations lists the stretches of all edges: first the left and the right edge, each from
// its top, then the top and the bottom, each from its left.
func (e *Edges) Violations() (violations []EdgeViolation) {
	for _, e := range []struct {
		name string
		edge
	}{{"left", e.left}, {"right", e.right}, {"top", e.top}, {"bottom", e.bottom}} {
		for _, s := range e.violations {
			scale := 100 / float64(len(e.parallax))
			violations = append(violations, EdgeViolation{
				Edge: e.name, From: stat.Rounded(float64(s.from)*scale, 1), To: stat.Rounded(float64(s.to)*scale, 1),
				Parallax: stat.Rounded(s.nearest, 3),
			})
		}
	}
	return violations
}

// Worst returns the share, 0 to 1, of the worse side edge that is violated, with its standard
// error. Known is false where nothing is violated and too little of that edge has a parallax.
func (e *Edges) Worst() (share, se float64, known bool) {
	worst := e.left
	if l, r := e.left.share(), e.right.share(); r > l || r == l && !e.left.known {
		worst = e.right
	}
	return worst.share(), worst.se(), worst.known || worst.share() != 0
}
