package depth

import (
	"math"
	"slices"
	"sync"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// EdgeViolation is a stretch of an edge of the picture that cuts something in front
// of the screen: the eyes see it end at a window that is farther away.
type EdgeViolation struct {
	Edge string `json:"edge"` // "left", "right", "top" or "bottom"
	// From and To bound the stretch: % of the picture height from the top, or for
	// the top and bottom edges % of the width from the left.
	From float64 `json:"from"`
	To   float64 `json:"to"`
	// Parallax is that of what is cut, where it is nearest: % of picture width,
	// negative.
	Parallax float64 `json:"parallax"`
}

// Mask says which eye's picture shows a strip beyond its edge that the other
// eye's does not, and how wide a mask would hide it, in % of the picture width:
// a floating window. Only the side edges take one; for the others the eye is
// empty. What stands in front of the screen and is cut by the left edge goes on
// in the left eye's picture, at the right edge in the right eye's (plane
// geometry).
func (c EdgeViolation) Mask() (eye string, width float64) {
	switch c.Edge {
	case "left", "right":
		return c.Edge, -c.Parallax
	}
	return "", 0
}

const (
	// violationFront is how far in front of the screen a thing must stand to be cut by
	// its edge, in % of the picture width: nearer to the screen the window's rim
	// is felt at the same depth. It is 10 arcmin at three picture heights, twice what
	// a floor or a wall that starts at the screen comes to. The project's own choice.
	minInFront = 0.5
	// violationRim is how far from the edge, in quarter pixels, a place may lie that
	// speaks for it.
	maxRimDistance = 3
	// A thing may end between such a place and the edge: the map cannot tell there,
	// and what stands in front seems larger in it than it is. touchWide and touchHigh
	// are the columns and rows, in pixels, of the strip right beside the edge that is
	// looked at. It shows something else where, at the parallax of the thing, it is less
	// alike between the eyes than touchAlike, as a correlation, or more alike by
	// touchBetter farther behind, up to touchBehind as a share of the width; where its
	// contrast is touchClear times the noise.
	rimWidth          = 6
	rimHeight         = 8
	minRimCorrelation = 0.4
	rimMargin         = 0.15
	rimSearch         = 0.03
	minRimContrast    = 3
	// touchRun is how many places that follow each other are not wrong about it: twice
	// as many as look at the same pixels.
	rimRun = 4
	// minViolation is the least stretch, as a share of the edge, and violationGap how much of
	// it, as such a share, may be silent between two places that are cut.
	minViolation = 0.03
	violationGap = 0.05
	// violationKnown is the least share of an edge that must tell its parallax.
	minEdgeCoverage = 0.25
)

type Edges struct{ left, right, top, bottom edge }

// edge is what stands along an edge of the picture.
type edge struct {
	// parallax in % of the picture width, of each quarter pixel along the edge; NaN
	// where it is not known.
	parallax   []float64
	ends       []bool // where what is in front seems to end before the edge
	known      bool
	violations []stretch
}

// stretch is a part of an edge: quarter pixels from and up to.
type stretch struct {
	from, to int
	nearest  float64 // % of picture width
}

// FindEdges returns what stands along the four edges. Left and right are the full rasters,
// and grain gives the noise of the left one.
func FindEdges(m *Map, g *geometry.Fit, left, right *raster.Raster, noise func() float64) (e Edges) {
	c := alignedMap{m, g, left, right, sync.OnceValue(noise)}
	e.left, e.right = c.vertical(true), c.vertical(false)
	e.top, e.bottom = c.horizontal(true), c.horizontal(false)
	for _, e := range []*edge{&e.left, &e.right, &e.top, &e.bottom} {
		e.findStretches()
	}
	return e
}

// corrected is the map of parallax as it will be when the right picture has been
// brought into line. A picture that is turned or too large has parallax at its
// rim which is a fault of its own, and none of the window's.
type alignedMap struct {
	*Map
	g           *geometry.Fit
	full, other *raster.Raster // the left and the right picture
	noise       func() float64 // noise of the left one
}

// at returns the parallax of a place in % of the picture width.
func (c alignedMap) at(x, y int) float64 {
	const centre = (raster.Quarter - 1) / 2.0
	px := raster.Quarter*float64(x) + centre
	X, Y := c.full.Place(px, raster.Quarter*float64(y)+centre)
	xr, _ := c.full.Place(px+float64(c.Parallax[y*c.Width+x]), 0)
	inLine, _ := c.g.Similarity.Undo(xr, Y+c.g.Similarity.Down)
	return 100 * (inLine - X) / (c.full.Sx * float64(c.full.Width))
}

// side collects the parallax along the left or the right edge. A
// place speaks for the edge when it is the outermost one that tells its parallax
// and either eye sees it at its own edge: what stands in front of the screen is
// first seen by both where the right picture begins and the left one ends.
func (c alignedMap) vertical(left bool) edge {
	e := edge{parallax: make([]float64, c.Height), ends: make([]bool, c.Height)}
	for y := range c.Height {
		row := c.Parallax[y*c.Width:][:c.Width]
		e.parallax[y] = math.NaN()
		for i := range c.Width {
			x := i
			if !left {
				x = c.Width - 1 - i
			}
			p := row[x]
			if p != p {
				continue
			}
			// How far it is from the edge of the picture that ends first.
			in := float64(i)
			if (p < 0) == left {
				in -= math.Abs(float64(p)) / raster.Quarter
			}
			if in <= maxRimDistance {
				e.parallax[y] = c.at(x, y)
				e.ends[y] = e.parallax[y] <= -minInFront && c.ends(left, float64(p), y)
			}
			break
		}
	}
	return e
}

// ends reports whether the strip right beside an edge, on the side of a thing in
// front with that parallax in pixels, clearly shows something else.
func (c alignedMap) ends(left bool, parallax float64, y int) bool {
	own, clear := c.rimCorrelation(left, parallax, y)
	if !clear {
		return false
	}
	if own < minRimCorrelation {
		return true
	}
	for behind := 2.0; behind <= rimSearch*float64(c.full.Width); behind++ {
		if other, clear := c.rimCorrelation(left, parallax+behind, y); clear && other > own+rimMargin {
			return true
		}
	}
	return false
}

// alikeBeside returns the correlation of both eyes' strips beside an edge at a
// parallax in pixels; false where they have too little contrast or are not seen.
func (c alignedMap) rimCorrelation(left bool, parallax float64, y int) (float64, bool) {
	var n, a, b, aa, bb, ab float64
	for j := range rimHeight {
		row := raster.Quarter*y + raster.Quarter/2 - rimHeight/2 + j
		for i := range rimWidth {
			// The left edge of the right picture, or the right edge of the left one.
			x, u := float64(1+i)-parallax, float64(1+i)
			if !left {
				x = float64(c.full.Width - 2 - i)
				u = x + parallax
			}
			v, ok := c.full.Bilinear(x, float64(row))
			w, also := c.other.Bilinear(u, float64(row)+c.g.DisplacementAt(c.other, u, float64(row)))
			if !ok || !also {
				continue
			}
			n++
			a += v
			b += w
			aa += v * v
			bb += w * w
			ab += v * w
		}
	}
	if n < rimWidth*rimHeight*2/3 {
		return 0, false
	}
	aa, bb, ab = aa/n-stat.Sq(a/n), bb/n-stat.Sq(b/n), ab/n-a/n*b/n
	clear := stat.Sq(minRimContrast * c.noise())
	return ab / math.Sqrt(aa*bb), aa > clear && bb > clear
}

// level collects the parallax along the top or the bottom edge.
func (c alignedMap) horizontal(top bool) edge {
	e := edge{parallax: make([]float64, c.Width), ends: make([]bool, c.Width)}
	for x := range c.Width {
		e.parallax[x] = math.NaN()
		for i := range maxRimDistance {
			y := i
			if !top {
				y = c.Height - 1 - i
			}
			if p := c.Parallax[y*c.Width+x]; p == p {
				e.parallax[x] = c.at(x, y)
				break
			}
		}
	}
	return e
}

// findStretches finds the stretches that are cut.
func (e *edge) findStretches() {
	n := float64(len(e.parallax))
	measured := 0
	var candidates []stretch
	for i, p := range e.parallax {
		if p != p {
			continue
		}
		measured++
		if p > -minInFront {
			continue
		}
		// Only silence may lie between two places of one stretch.
		if k := len(candidates) - 1; k >= 0 && float64(i-candidates[k].to) <= violationGap*n && e.unknownBetween(candidates[k].to, i) {
			candidates[k].to = i + 1
		} else {
			candidates = append(candidates, stretch{from: i, to: i + 1})
		}
	}
	e.known = float64(measured) >= minEdgeCoverage*n
	var pieces []stretch
	for _, s := range candidates {
		pieces = e.split(pieces, s)
	}
	for _, s := range pieces {
		if float64(s.to-s.from) < minViolation*n {
			continue
		}
		var all []float64
		for _, p := range e.parallax[s.from:s.to] {
			if p <= -minInFront {
				all = append(all, p)
			}
		}
		if len(all) == 0 {
			continue // silent throughout
		}
		// The mask has to hide nearly all of it; single places may be wrong.
		s.nearest = stat.Quantile(all, 0.1)
		e.violations = append(e.violations, s)
	}
}

// split appends what is left of a stretch without what ends before the edge: at
// either end of it, up to two places that do not, and wherever touchRun of them
// follow each other. Single places may seem to.
func (e *edge) split(dst []stretch, s stretch) []stretch {
	for s.from < s.to && (e.ends[s.from] || s.from+1 < s.to && e.ends[s.from+1]) {
		s.from++
	}
	for s.to > s.from && (e.ends[s.to-1] || s.to-2 >= s.from && e.ends[s.to-2]) {
		s.to--
	}
	run := 0
	for i := s.from; i < s.to; i++ {
		if run++; !e.ends[i] {
			run = 0
		}
		if run == rimRun {
			dst = e.split(dst, stretch{from: s.from, to: i - rimRun + 1})
			return e.split(dst, stretch{from: i + 1, to: s.to})
		}
	}
	if s.from < s.to {
		dst = append(dst, s)
	}
	return dst
}

func (e *edge) unknownBetween(from, to int) bool {
	return !slices.ContainsFunc(e.parallax[from:to], func(p float64) bool { return p == p })
}

// share returns how much of the edge is cut, 0 to 1.
func (e *edge) share() float64 {
	sum := 0
	for _, s := range e.violations {
		sum += s.to - s.from
	}
	return float64(sum) / float64(len(e.parallax))
}

// se returns the standard error of the share. A thing seems larger by part of
// the window of matching than it is, which adds up over the stretches; where
// silence begins at an end, it may well go on; and one stretch just too short or
// too near to the screen may have been missed.
func (e *edge) se() float64 {
	const end = 2.0 // quarter pixels
	n := len(e.parallax)
	v := stat.Sq(end * float64(1+len(e.violations)))
	for _, s := range e.violations {
		above, below := 0, 0
		for i := s.from - 1; i >= 0 && e.parallax[i] != e.parallax[i]; i-- {
			above++
		}
		for i := s.to; i < n && e.parallax[i] != e.parallax[i]; i++ {
			below++
		}
		// Evenly likely to go on anywhere within the silence.
		v += stat.Sq(float64(above))/12 + stat.Sq(float64(below))/12
	}
	return math.Sqrt(v) / float64(n)
}

// Violations lists the stretches of all edges.
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

// Worst returns the share of the worse side edge that is cut, with its standard error;
// false where neither tells.
func (e *Edges) Worst() (share, se float64, known bool) {
	worst := e.left
	if l, r := e.left.share(), e.right.share(); r > l || r == l && !e.left.known {
		worst = e.right
	}
	return worst.share(), worst.se(), worst.known || worst.share() != 0
}
