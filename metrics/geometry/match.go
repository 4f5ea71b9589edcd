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
	SE float64
	// Across is the standard error of the parallax RightX − LeftX, likewise.
	Across float64
	// Alike is the correlation of the two patches, gain and offset being free.
	Alike float64
	// Alone says that no other place along the row looked nearly as good, so the
	// parallax can be relied on; across repeated texture only the vertical
	// disparity can.
	Alone bool

	Column, Row int     // of the left raster
	pixel       float64 // height of the picture's own pixels, in picture heights
}

const (
	// matchAlike is the least correlation of two patches that show the same
	// place. Noise as strong as the texture itself gives 0.5.
	matchAlike = 0.6
	// matchBack is how far, in quarter pixels, searching back may end from where
	// it began.
	matchBack = 2
	// aloneMargin is by how many bits of distance the best candidate must beat
	// the next one.
	aloneMargin = raster.BlockBits / 20
	// turnedBy is the roll, in radians, or zoom, as a ratio, from which the right
	// picture is turned and scaled into line before patches are compared: at the
	// rim of a patch it displaces by a thirtieth of a pixel.
	turnedBy = 0.005
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
func FindMatches(levels [2]*raster.Level, fine [2]*raster.Raster) (matches []Match, tried int, reason string) {
	left, right := levels[0], levels[1]
	matches, turn, tried, reason := findRough(left, right)
	s := sharpener{fineLeft: fine[0], fineRight: fine[1], full: right.Full, turn: turn, noise: stat.Sq(left.Noise()) / left.Full.Thin}
	return s.all(matches, left.Half, right.Half), tried, reason
}

// findRough finds places of the left picture in the right one. Turn is what brings the
// right picture roughly into line, in pixels of the full raster, and tried how many
// places were looked for. The reason is empty unless the pictures have too little in
// common.
func findRough(left, right *raster.Level) (matches []Match, turn Similarity, tried int, reason string) {
	places := raster.Corners(left)
	if len(places) < minAlignPlaces {
		return nil, turn, 0, tooLittleTexture
	}
	found := align(left.Census, right.Census, places)
	if len(found.places) == 0 {
		return nil, turn, 0, nothingInCommon
	}
	g := found.rough
	turn = Similarity{Cos: 1}
	if math.Abs(g.roll) > turnedBy || math.Abs(g.zoom) > turnedBy {
		turn = g.similarity(right.Full)
		right = raster.NewLevel(turn.warp(right.Full))
		g = rough{}
	}

	forth := searcher{from: left.Census, to: right.Census, sign: 1}
	back := searcher{from: right.Census, to: left.Census, sign: -1}
	reach, margin := int(SearchParallax*float64(left.Census.Width)), int(ParallaxMargin*float64(left.Census.Width))
	near, far := found.parallax()
	near, far = min(near-margin, -reach), max(far+margin, reach)
	win := window{left: near, right: far, up: -guidedRows, down: guidedRows}
	backWin := window{left: -far, right: -near, up: -guidedRows, down: guidedRows}
	f := finder{left: left, right: right}
	var list, returned []candidate
	for _, c := range places {
		list = forth.find(list, c.X/raster.Quarter, c.Y/raster.Quarter, g, win)
		best, ok := f.best(list, c)
		if !ok || best.alike < matchAlike {
			continue
		}
		qx, qy := toQuarter(best.x), toQuarter(best.y)
		returned = back.find(returned, qx, qy, g, backWin)
		if len(returned) == 0 || stat.Abs(returned[0].x-c.X/raster.Quarter) > matchBack || stat.Abs(returned[0].y-c.Y/raster.Quarter) > matchBack {
			continue
		}
		m := Match{Alike: best.alike, Column: c.X, Row: c.Y}
		m.LeftX, m.LeftY = left.Full.Place(float64(c.X), float64(c.Y))
		m.RightX, m.RightY = right.Full.Place(turn.apply(best.x, best.y))
		m.SE, m.Across = best.sy*right.Full.Sy, best.sx*right.Full.Sx
		m.pixel = right.Full.Own
		m.Alone = len(list) < 2 || list[1].distance > list[0].distance+aloneMargin
		matches = append(matches, m)
	}
	return matches, turn, len(places), ""
}

// toQuarter turns a full-size pixel coordinate into the nearest quarter-size one.
func toQuarter(v float64) int { return int(math.Round((v - 1.5) / raster.Quarter)) }

// finder finds one place of the left picture among candidates, from the half-size
// raster to the full one.
type finder struct {
	left, right *raster.Level
	coarse      coarsePatch
	fine        template
}

// best refines the candidates and returns the one that matches best.
func (f *finder) best(list []candidate, c raster.Corner) (best placement, ok bool) {
	if !f.coarse.take(f.left.Half, c.X/2, c.Y/2) || !f.fine.take(f.left.Full, c.X, c.Y) {
		return placement{}, false
	}
	var starts [candidates]start
	top := -1.0
	for i, k := range list {
		starts[i] = f.coarse.find(f.right.Half, c.X/2+2*(k.x-c.X/raster.Quarter), c.Y/2+2*(k.y-c.Y/raster.Quarter))
		top = max(top, starts[i].alike)
	}
	for _, s := range starts[:len(list)] {
		if s.alike < coarseCorrelation || s.alike < top-coarseMargin {
			continue
		}
		r, fine := f.fine.refine(f.right.Full, float64(c.X)+2*s.dx, float64(c.Y)+2*s.dy)
		if fine && (!ok || r.alike > best.alike) {
			best, ok = r, true
		}
	}
	return best, ok
}
