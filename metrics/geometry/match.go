package geometry

import (
	"math"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// Match is a place that was found in both eyes' pictures, in picture heights from the
// picture's centre, x to the right, y down.
type Match struct {
	LeftX, LeftY   float64
	RightX, RightY float64
	// VerticalSE is the standard error of the vertical disparity RightY − LeftY, by the
	// difference between the two patches.
	VerticalSE float64
	// parallaxSE is the standard error of the parallax RightX − LeftX, likewise.
	parallaxSE float64
	// Correlation is that of the two patches, with gain and offset free: minCorrelation to 1.
	Correlation float64
	// Unambiguous says that no other place along the row was nearly as similar, so that the
	// parallax can be relied on. Across repeated texture only the vertical disparity can.
	Unambiguous bool

	Column, Row int     // pixel of the left full raster at which the search began
	framePixel  float64 // height of a pixel of the frame, in picture heights
}

const (
	// minCorrelation is the smallest correlation of two patches that show the same
	// place. Noise as strong as the texture itself gives 0.5.
	minCorrelation = 0.6
	// maxReturn is how far, in quarter pixels, searching back may end from where
	// the search began.
	maxReturn = 2
	// ambiguityMargin is by how many bits of distance the best candidate of an
	// unambiguous match is closer than the second best.
	ambiguityMargin = raster.BlockBits / 20
	// warpFrom is the roll, in radians, or zoom, as a ratio, from which on the right picture
	// is warped into alignment before patches are compared: it displaces the rim of a patch by
	// a thirtieth of a pixel.
	warpFrom = 0.005
)

// Why pictures cannot be compared.
const (
	tooLittleTexture = "too little texture"
	nothingInCommon  = "the eyes' pictures have too little in common"
)

// FindMatches finds places of the left picture in the right one, in the order of the left
// picture's rows, and measures them on the rasters where they are most exact. Pyramids are of the
// left and the right picture; fine are their fine rasters, or nil where they have none.
// Tried is how many places were searched. The reason is empty unless there are no matches because
// the pictures have too little in common.
func FindMatches(pyramids [2]*raster.Pyramid, fine [2]*raster.Raster) (matches []Match, tried int, reason string) {
	left, right := pyramids[0], pyramids[1]
	matches, warp, tried, reason := matchFullRasters(left, right)
	m := remeasurer{fineLeft: fine[0], fineRight: fine[1], full: right.Full, warp: warp, noise: stat.Sq(left.Noise()) / left.Full.NoiseGain}
	return m.all(matches, left.Half, right.Half), tried, reason
}

// matchFullRasters finds places of the left picture in the right one, measured on the full
// rasters. Warp is the rough alignment of the right picture, in pixels of the full raster,
// where it is worth a warp; tried and reason are as for FindMatches.
func matchFullRasters(left, right *raster.Pyramid) (matches []Match, warp Similarity, tried int, reason string) {
	places := raster.Corners(left)
	if len(places) < minConsensusPlaces {
		return nil, warp, 0, tooLittleTexture
	}
	found := align(left.Census, right.Census, places)
	if len(found.places) == 0 {
		return nil, warp, 0, nothingInCommon
	}
	g := found.roughAlignment
	warp = Similarity{Cos: 1}
	if math.Abs(g.roll) > warpFrom || math.Abs(g.zoom) > warpFrom {
		warp = g.similarity(right.Full)
		right = raster.NewPyramid(warp.warp(right.Full))
		g = roughAlignment{}
	}

	forth := searcher{from: left.Census, to: right.Census, sign: 1}
	back := searcher{from: right.Census, to: left.Census, sign: -1}
	reach, margin := int(SearchParallax*float64(left.Census.Width)), int(ParallaxMargin*float64(left.Census.Width))
	near, far := found.parallax()
	near, far = min(near-margin, -reach), max(far+margin, reach)
	win := window{minX: near, maxX: far, minY: -guidedRows, maxY: guidedRows}
	backWin := window{minX: -far, maxX: -near, minY: -guidedRows, maxY: guidedRows}
	f := patchFinder{left: left, right: right}
	var list, returned []candidate
	for _, c := range places {
		list = forth.find(list, c.X/raster.Quarter, c.Y/raster.Quarter, g, win)
		best, ok := f.best(list, c)
		if !ok || best.correlation < minCorrelation {
			continue
		}
		qx, qy := toQuarter(best.x), toQuarter(best.y)
		returned = back.find(returned, qx, qy, g, backWin)
		if len(returned) == 0 || stat.Abs(returned[0].x-c.X/raster.Quarter) > maxReturn || stat.Abs(returned[0].y-c.Y/raster.Quarter) > maxReturn {
			continue
		}
		m := Match{Correlation: best.correlation, Column: c.X, Row: c.Y}
		m.LeftX, m.LeftY = left.Full.Place(float64(c.X), float64(c.Y))
		m.RightX, m.RightY = right.Full.Place(warp.apply(best.x, best.y))
		m.VerticalSE, m.parallaxSE = best.sy*right.Full.Sy, best.sx*right.Full.Sx
		m.framePixel = right.Full.FramePixel
		m.Unambiguous = len(list) < 2 || list[1].distance > list[0].distance+ambiguityMargin
		matches = append(matches, m)
	}
	return matches, warp, len(places), ""
}

// toQuarter returns the quarter pixel nearest to a coordinate on the full raster.
func toQuarter(v float64) int { return int(math.Round((v - 1.5) / raster.Quarter)) }

// patchFinder picks the best of a place's candidates: first on the half raster, then on the
// full one.
type patchFinder struct {
	left, right *raster.Pyramid
	coarse      coarsePatch
	fine        template
}

// best refines the candidates of a corner and returns the one of highest correlation; false
// where none can be refined.
func (f *patchFinder) best(list []candidate, c raster.Corner) (best placement, ok bool) {
	if !f.coarse.load(f.left.Half, c.X/2, c.Y/2) || !f.fine.prepare(f.left.Full, c.X, c.Y) {
		return placement{}, false
	}
	var coarse [maxCandidates]coarseMatch
	maxCorrelation := -1.0
	for k, guess := range list {
		coarse[k] = f.coarse.climb(f.right.Half, c.X/2+2*(guess.x-c.X/raster.Quarter), c.Y/2+2*(guess.y-c.Y/raster.Quarter))
		maxCorrelation = max(maxCorrelation, coarse[k].correlation)
	}
	for _, from := range coarse[:len(list)] {
		if from.correlation < coarseCorrelation || from.correlation < maxCorrelation-coarseMargin {
			continue
		}
		r, fine := f.fine.refine(f.right.Full, float64(c.X)+2*from.dx, float64(c.Y)+2*from.dy)
		if fine && (!ok || r.correlation > best.correlation) {
			best, ok = r, true
		}
	}
	return best, ok
}
