package metrics

import (
	"math"
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

	column, row int     // of the left raster
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
	aloneMargin = blockBits / 20
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

// findMatches finds places of the left picture in the right one and places them as finely
// as the eyes' pictures show them: on their fine rasters, where there are such. Tried is how
// many places were looked for. The reason is empty unless the pictures have too little in
// common.
func findMatches(levels [2]*level, fine [2]*raster) (matches []Match, tried int, reason string) {
	left, right := levels[0], levels[1]
	matches, turn, tried, reason := match(left, right)
	s := sharpener{fineLeft: fine[0], fineRight: fine[1], full: right.full, turn: turn, noise: sq(left.grain()) / left.full.thin}
	return s.all(matches, left.half, right.half), tried, reason
}

// match finds places of the left picture in the right one. Turn is what brings the
// right picture roughly into line, in pixels of the full raster, and tried how many
// places were looked for. The reason is empty unless the pictures have too little in
// common.
func match(left, right *level) (matches []Match, turn similarity, tried int, reason string) {
	places := corners(left)
	if len(places) < alignLeast {
		return nil, turn, 0, tooLittleTexture
	}
	found := align(left.census, right.census, places)
	if len(found.places) == 0 {
		return nil, turn, 0, nothingInCommon
	}
	g := found.rough
	turn = similarity{cos: 1}
	if math.Abs(g.roll) > turnedBy || math.Abs(g.zoom) > turnedBy {
		turn = g.similarity(right.full)
		right = newLevel(turn.warp(right.full))
		g = rough{}
	}

	forth := searcher{from: left.census, to: right.census, sign: 1}
	back := searcher{from: right.census, to: left.census, sign: -1}
	reach, margin := int(searchParallax*float64(left.census.width)), int(parallaxMargin*float64(left.census.width))
	near, far := found.parallax()
	near, far = min(near-margin, -reach), max(far+margin, reach)
	win := window{left: near, right: far, up: -guidedRows, down: guidedRows}
	backWin := window{left: -far, right: -near, up: -guidedRows, down: guidedRows}
	f := finder{left: left, right: right}
	var list, returned []candidate
	for _, c := range places {
		list = forth.find(list, c.x/quarter, c.y/quarter, g, win)
		best, ok := f.best(list, c)
		if !ok || best.alike < matchAlike {
			continue
		}
		qx, qy := toQuarter(best.x), toQuarter(best.y)
		returned = back.find(returned, qx, qy, g, backWin)
		if len(returned) == 0 || abs(returned[0].x-c.x/quarter) > matchBack || abs(returned[0].y-c.y/quarter) > matchBack {
			continue
		}
		m := Match{Alike: best.alike, column: c.x, row: c.y}
		m.LeftX, m.LeftY = left.full.place(float64(c.x), float64(c.y))
		m.RightX, m.RightY = right.full.place(turn.apply(best.x, best.y))
		m.SE, m.Across = best.sy*right.full.sy, best.sx*right.full.sx
		m.pixel = right.full.own
		m.Alone = len(list) < 2 || list[1].distance > list[0].distance+aloneMargin
		matches = append(matches, m)
	}
	return matches, turn, len(places), ""
}

// toQuarter turns a full-size pixel coordinate into the nearest quarter-size one.
func toQuarter(v float64) int { return int(math.Round((v - 1.5) / quarter)) }

// finder finds one place of the left picture among candidates, from the half-size
// raster to the full one.
type finder struct {
	left, right *level
	coarse      outline
	fine        template
}

// best refines the candidates and returns the one that matches best.
func (f *finder) best(list []candidate, c corner) (best fit, ok bool) {
	if !f.coarse.take(f.left.half, c.x/2, c.y/2) || !f.fine.take(f.left.full, c.x, c.y) {
		return fit{}, false
	}
	var starts [candidates]start
	top := -1.0
	for i, k := range list {
		starts[i] = f.coarse.find(f.right.half, c.x/2+2*(k.x-c.x/quarter), c.y/2+2*(k.y-c.y/quarter))
		top = max(top, starts[i].alike)
	}
	for _, s := range starts[:len(list)] {
		if s.alike < outlineAlike || s.alike < top-outlineClose {
			continue
		}
		r, fine := f.fine.refine(f.right.full, float64(c.x)+2*s.dx, float64(c.y)+2*s.dy)
		if fine && (!ok || r.alike > best.alike) {
			best, ok = r, true
		}
	}
	return best, ok
}
