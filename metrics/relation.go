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

// relate looks for places of the left picture in the right one's quarter raster, in all
// four orientations of that.
func relate(left *level, right *raster) (r Relation, reason string) {
	places := strongest(corners(left), alignPlaces, left.full.width)
	if len(places) < alignLeast {
		return r, tooLittleTexture
	}
	for o := range r {
		turned := newCensus(right.oriented(Orientation(o)))
		r[o] = float64(len(align(left.census, turned, places).places)) / float64(len(places))
	}
	return r, ""
}

// rivals lists the orientations that many places speak for.
func (r Relation) rivals() (list []Orientation) {
	const close = 0.6
	best := slices.Max(r[:])
	for o, v := range r {
		if v > 0 && v >= close*best {
			list = append(list, Orientation(o))
		}
	}
	return list
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
