package geometry

import (
	"math"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// Match is a place that was found in both eyes' pictures, in picture
// coordinates: units of the picture height, x to the right, y down, origin at
// the picture's centre.
type Match struct {
	LeftX, LeftY   float64
	RightX, RightY float64
	// SE is the standard error of the vertical disparity RightY − LeftY as the
	// difference between the two patches suggests it.
	VerticalSE float64
	// Across is the standard error of the parallax RightX − LeftX, likewise.
	ParallaxSE float64
	// Alike is the correlation of the two patches, gain and offset being free.
	Correlation float64
	// Alone says that no other place along the row looked nearly as good, so the
	// parallax can be relied on; across repeated texture only the vertical
	// disparity can.
	Unambiguous bool

	Column, Row int     // of the left raster
	framePixel  float64 // height of the picture's own pixels, in picture heights
}

const (
	// matchAlike is the least correlation of two patches that show the same
	// place. Noise as strong as the texture itself gives 0.5.
	minCorrelation = 0.6
	// matchBack is how far, in quarter pixels, searching back may end from where
	// it began.
	maxReturn = 2
	// aloneMargin is by how many bits of distance the best candidate must beat
	// the next one.
	ambiguityMargin = raster.BlockBits / 20
	// turnedBy is the roll, in radians, or zoom, as a ratio, from which the right
	// picture is turned and scaled into line before patches are compared: at the
	// rim of a patch it displaces by a thirtieth of a pixel.
	warpFrom = 0.005
)

// Why pictures cannot be compared.
const (
	tooLittleTexture = "too little texture"
	nothingInCommon  = "the eyes' pictures have too little in common"
)

// FindMatches finds places of the left picture in the right one and places them as finely
// as the eyes' pictures show them: on their fine rasters, where there are such. Tried is how
// many places were looked for. The reason is empty unless the pictures have too little in
// common.
func FindMatches(levels [2]*raster.Pyramid, fine [2]*raster.Raster) (matches []Match, tried int, reason string) {
	left, right := levels[0], levels[1]
	matches, warp, tried, reason := matchFullRasters(left, right)
	m := remeasurer{fineLeft: fine[0], fineRight: fine[1], full: right.Full, warp: warp, noise: stat.Sq(left.Noise()) / left.Full.NoiseGain}
	return m.all(matches, left.Half, right.Half), tried, reason
}

// findRough finds places of the left picture in the right one. Turn is what brings the
// right picture roughly into line, in pixels of the full raster, and tried how many
// places were looked for. The reason is empty unless the pictures have too little in
// common.
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
		m.VerticalSE, m.ParallaxSE = best.sy*right.Full.Sy, best.sx*right.Full.Sx
		m.framePixel = right.Full.FramePixel
		m.Unambiguous = len(list) < 2 || list[1].distance > list[0].distance+ambiguityMargin
		matches = append(matches, m)
	}
	return matches, warp, len(places), ""
}

// toQuarter turns a full-size pixel coordinate into the nearest quarter-size one.
func toQuarter(v float64) int { return int(math.Round((v - 1.5) / raster.Quarter)) }

// finder finds one place of the left picture among candidates, from the half-size
// raster to the full one.
type patchFinder struct {
	left, right *raster.Pyramid
	coarse      coarsePatch
	fine        template
}

// best refines the candidates and returns the one that matches best.
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
