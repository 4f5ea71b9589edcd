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
	// Alike is the correlation of the two patches, gain and offset being free.
	Alike float64
	// Alone says that no other place along the row looked nearly as good, so the
	// parallax can be relied on; across repeated texture only the vertical
	// disparity can.
	Alone bool

	column, row int // of the left raster
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

// level is a raster with what searching needs of it.
type level struct {
	full, half, quarter *raster
	census              *census
}

func newLevel(full *raster) *level {
	l := &level{full: full, half: full.halve()}
	l.quarter = l.half.halve()
	l.census = newCensus(l.quarter)
	return l
}

// match finds places of the left picture in the right one. The reason is empty
// unless the pictures have too little in common.
func match(left, right *level) (matches []Match, reason string) {
	grain := left.full.grain()
	places := corners(left.half, grain)
	if len(places) < alignLeast {
		return nil, "too little texture"
	}
	g, near, far, ok := align(left.census, right.census, places)
	if !ok {
		return nil, "the eyes' pictures have too little in common"
	}
	turn := similarity{cos: 1}
	if math.Abs(g.roll) > turnedBy || math.Abs(g.zoom) > turnedBy {
		turn = g.similarity(right.full)
		right = newLevel(turn.warp(right.full))
		g = rough{}
	}

	forth := searcher{from: left.census, to: right.census, sign: 1}
	back := searcher{from: right.census, to: left.census, sign: -1}
	reach, margin := int(searchParallax*float64(left.census.width)), int(parallaxMargin*float64(left.census.width))
	near, far = min(near-margin, -reach), max(far+margin, reach)
	win := window{left: near, right: far, up: -guidedRows, down: guidedRows}
	backWin := window{left: -far, right: -near, up: -guidedRows, down: guidedRows}
	var list, returned []candidate
	var t template
	for _, c := range places {
		list = forth.find(list, c.x/quarter, c.y/quarter, g, win)
		if len(list) == 0 || !left.full.template(&t, c.x, c.y) {
			continue
		}
		best, ok := t.bestOf(right, list[:min(len(list), candidates)], c)
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
		m.SE = best.sy * right.full.sy
		m.Alone = len(list) < 2 || list[1].distance > list[0].distance+aloneMargin
		matches = append(matches, m)
	}
	return matches, ""
}

// toQuarter turns a full-size pixel coordinate into the nearest quarter-size one.
func toQuarter(v float64) int { return int(math.Round((v - 1.5) / quarter)) }

func abs(n int) int { return max(n, -n) }

// bestOf refines the candidates and returns the one that matches best.
func (t *template) bestOf(right *level, list []candidate, c corner) (best fit, ok bool) {
	// A quarter pixel's centre is pixel 4q+1.5 of the full raster; the corner is
	// off the centre of its own quarter pixel by the same rule.
	offX, offY := c.x-(quarter*(c.x/quarter)), c.y-(quarter*(c.y/quarter))
	for _, k := range list {
		x, y, alike := t.nearby(right.full, quarter*k.x+offX, quarter*k.y+offY)
		if alike < matchAlike/2 {
			continue
		}
		f, fine := t.refine(right.full, float64(x), float64(y))
		if fine && (!ok || f.alike > best.alike) {
			best, ok = f, true
		}
	}
	return best, ok
}

// nearby returns the whole pixel around (x, y) where the template correlates
// best, climbing from the best of a coarse grid.
func (t *template) nearby(r *raster, x, y int) (bx, by int, best float64) {
	best = -1
	try := func(cx, cy int) {
		if a := t.correlate(r, cx, cy); a > best {
			bx, by, best = cx, cy, a
		}
	}
	const reach = 4
	for dy := -reach; dy <= reach; dy += 2 {
		for dx := -reach; dx <= reach; dx += 2 {
			try(x+dx, y+dy)
		}
	}
	cx, cy := bx, by
	for dy := -1; dy <= 1; dy++ {
		for dx := -1; dx <= 1; dx++ {
			if dx != 0 || dy != 0 {
				try(cx+dx, cy+dy)
			}
		}
	}
	return bx, by, best
}

// correlate returns the weighted correlation of the template with the patch
// around a whole pixel, −1 outside the picture.
func (t *template) correlate(r *raster, x, y int) float64 {
	if x < patchRadius || y < patchRadius || x >= r.width-patchRadius || y >= r.height-patchRadius {
		return -1
	}
	var mean, cov, square float32
	for j := range patchSide {
		row := r.row(y - patchRadius + j)[x-patchRadius:][:patchSide]
		w := patchWeights[j*patchSide:][:patchSide]
		p := t.pix[j*patchSide:][:patchSide]
		for i, v := range row {
			v -= t.mean
			mean += w[i] * v
			square += w[i] * v * v
			cov += w[i] * v * (p[i] - t.mean)
		}
	}
	square -= mean * mean
	if square <= 0 {
		return -1
	}
	return float64(cov) / math.Sqrt(float64(square)*float64(t.square))
}
