package geometry

import (
	"slices"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

// Relation holds for each orientation of the right picture against the left
// one, by the Orientation, how many places of the left picture are found in the
// right one where a single alignment puts them, as a share of all places. One
// reflection leaves next to nothing of it.
type Relation [4]float64

const (
	// minRelation is the least share that speaks for a turned eye; relationClear
	// is how many times the next best it must be, as pictures that are nearly
	// symmetric, or repeat, look alike turned over as well.
	minRelation    = 0.45
	relationMargin = 1.25
	// RelationNear is how closely a match must fit, in picture heights.
	RelationTolerance = 0.3 / 540
)

// Relate looks for places of the left picture in the right one's quarter raster, in all
// four orientations of that.
func Relate(left *raster.Pyramid, right *raster.Raster) (r Relation, reason string) {
	places := strongest(raster.Corners(left), consensusPlaces, left.Full.Width)
	if len(places) < minConsensusPlaces {
		return r, tooLittleTexture
	}
	for o := range r {
		turned := raster.NewCensus(right.Oriented(picture.Orientation(o)))
		r[o] = float64(len(align(left.Census, turned, places).places)) / float64(len(places))
	}
	return r, ""
}

// Rivals lists the orientations that many places speak for.
func (r Relation) Rivals() (list []picture.Orientation) {
	const close = 0.6
	best := slices.Max(r[:])
	for o, v := range r {
		if v > 0 && v >= close*best {
			list = append(list, picture.Orientation(o))
		}
	}
	return list
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
func (r Relation) Best(moments int) (best picture.Orientation, clear bool) {
	var next float64
	for o, v := range r {
		if v > r[best] {
			best = picture.Orientation(o)
		}
	}
	for o, v := range r {
		if picture.Orientation(o) != best {
			next = max(next, v)
		}
	}
	if r[best] < relationMargin*next || best != picture.Upright && r[best] < minRelation*float64(moments) {
		return picture.Upright, false
	}
	return best, r[best] > 0
}
