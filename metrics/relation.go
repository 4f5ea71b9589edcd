package metrics

import (
	"math"
	"slices"
)

// Relation holds for each orientation of the right picture against the left
// one, by the Orientation, how many places of the left picture are found in the
// right one where a single alignment puts them, as a share of all places. One
// reflection leaves next to nothing of it.
type Relation [4]float64

const (
	// relationLeast is the least share that speaks for a turned eye; relationClear
	// is how many times the next best it must be, as pictures that are nearly
	// symmetric, or repeat, look alike turned over as well.
	relationLeast = 0.45
	relationClear = 1.25
	// relationNear is how closely a match must fit, in picture heights.
	relationNear = 0.3 / 540
)

// Relation looks for the right picture's places in all four orientations. The
// frames are taken as they are. The reason is empty unless there is too little
// to see.
func (p *Pair) Relation() (r Relation, reason string) {
	left := p.left()
	places := strongest(corners(left), alignPlaces, left.full.width)
	if len(places) < alignLeast {
		return r, tooLittleTexture
	}
	for o := range r {
		right := newCensus(p.right().quarter.oriented(Orientation(o)))
		r[o] = float64(len(align(left.census, right, places).places)) / float64(len(places))
	}
	p.compare(&r)
	return r, ""
}

// compare looks closer where more than one orientation is backed by many places,
// as on a chart that is nearly symmetric: it takes those to the share of corners
// that match to a fraction of a pixel.
func (p *Pair) compare(r *Relation) {
	const close = 0.6
	best := slices.Max(r[:])
	var rivals []Orientation
	for o, v := range r {
		if v > 0 && v >= close*best {
			rivals = append(rivals, Orientation(o))
		}
	}
	if len(rivals) < 2 {
		return
	}
	all := float64(len(corners(p.left())))
	for _, o := range rivals {
		turned := Pair{Left: p.Left, Right: p.Right.Oriented(o)}
		r[o] = 0
		if g, _ := turned.geometry(); g != nil {
			r[o] = float64(g.within(relationNear)) / all
		}
	}
}

// within counts the matches whose vertical disparity the fit gives to within so
// many picture heights.
func (g *geometry) within(near float64) (n int) {
	for i := range g.matches {
		if math.Abs(g.left(&g.matches[i])) < near {
			n++
		}
	}
	return n
}

// Plus adds what another moment of the same clip shows.
func (r Relation) Plus(s Relation) Relation {
	for i, v := range s {
		r[i] += v
	}
	return r
}

// Best returns the orientation that the mean of so many moments speaks for, and
// whether it does so clearly. Without anything clear it is Upright.
func (r Relation) Best(moments int) (best Orientation, clear bool) {
	var next float64
	for o, v := range r {
		if v > r[best] {
			best = Orientation(o)
		}
	}
	for o, v := range r {
		if Orientation(o) != best {
			next = max(next, v)
		}
	}
	if r[best] < relationClear*next || best != Upright && r[best] < relationLeast*float64(moments) {
		return Upright, false
	}
	return best, r[best] > 0
}

// oriented returns the raster turned.
func (r *raster) oriented(o Orientation) *raster {
	if o == Upright {
		return r
	}
	out := r.blank()
	for y := range r.height {
		src := r.row(y)
		if o == Flip || o == Turn {
			src = r.row(r.height - 1 - y)
		}
		dst := out.row(y)
		copy(dst, src)
		if o == Flop || o == Turn {
			slices.Reverse(dst)
		}
	}
	return out
}
