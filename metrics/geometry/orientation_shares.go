package geometry

import (
	"slices"

	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

// OrientationShares holds, for each picture.Orientation of the right picture, the share of the
// places of the left picture, 0 to 1, that are found in the right one where a single alignment
// puts them. In the wrong orientations there are next to none.
type OrientationShares [4]float64

const (
	// minOrientationShare is the smallest mean share that shows a mirrored or turned eye. orientationMargin
	// is how many times the second best share it must be, as pictures that are nearly
	// symmetric or repeat also match in other orientations.
	minOrientationShare = 0.45
	orientationMargin   = 1.25
	// OrientationTolerance is the largest residual of a match that counts, in picture heights.
	OrientationTolerance = 0.3 / 540
)

// Relate searches places of the left picture in the right one's quarter raster, which is tried
// in all four orientations. The reason is empty unless the left picture has too little
// texture.
func Relate(left *raster.Pyramid, right *raster.Raster) (r OrientationShares, reason string) {
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

// Rivals lists the orientations whose share is at least 0.6 of the largest one.
func (r OrientationShares) Rivals() (list []picture.Orientation) {
	const close = 0.6
	best := slices.Max(r[:])
	for o, v := range r {
		if v > 0 && v >= close*best {
			list = append(list, picture.Orientation(o))
		}
	}
	return list
}

// Plus returns the sum with what another moment of the same clip shows.
func (r OrientationShares) Plus(s OrientationShares) OrientationShares {
	for i, v := range s {
		r[i] += v
	}
	return r
}

// Best returns the orientation that a sum over so many moments shows, and whether it is clear. It
// is picture.Upright where nothing is clear.
func (r OrientationShares) Best(moments int) (best picture.Orientation, clear bool) {
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
	if r[best] < orientationMargin*next || best != picture.Upright && r[best] < minOrientationShare*float64(moments) {
		return picture.Upright, false
	}
	return best, r[best] > 0
}
