package geometry

import (
	"math"
	"math/rand/v2"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	alignPlaces = 250 // how many places are searched for over the whole window
	alignTrials = 1000
	// alignWithin is how far, in quarter pixels, a place may lie from where the
	// alignment puts it.
	inlierDistance = 1.5
	// alignShare is the least share of places that must agree. Of two unrelated
	// pictures some 20 to 29 % agree by chance, with alignments far off the usual,
	// as the window is 54 rows high and three likenesses of each place count; and
	// of few places more, by about a half over the root of their number.
	minConsensus, chanceConsensus = 0.24, 0.5
	// alignUsual is the roll, in radians, or zoom, as a ratio, from which an
	// alignment has to be backed by more places: a fiftieth more of all.
	usualRollZoom, unusualCost = 0.05, 0.02
	minAlignPlaces             = 10
	// alignSure is the share that ends the search.
	sufficientConsensus = 0.6
	// alignTilt bounds roll, in radians, and zoom, as a ratio.
	maxRollZoom = 0.15
)

// shift is a place of the left picture with the places of the right one that look
// most like it, best first. Where texture repeats, the right one is not always
// the best.
type putative struct {
	x, y       float64
	candidates [maxCandidates]point
	n          int
}

// spotAt is a place in quarter pixels from the centre.
type point struct{ x, y float64 }

// miss returns which of the places lies closest to where the alignment puts it,
// and by how many quarter pixels it misses.
func (s *putative) distance(g roughAlignment) (k int, distance float64) {
	distance = math.Inf(1)
	for i, t := range s.candidates[:s.n] {
		if e := math.Abs(t.y - s.y - g.displacement(t.x, s.y)); e < distance {
			k, distance = i, e
		}
	}
	return k, distance
}

// align finds the rough alignment of two quarter-size pictures from nothing. It
// looks nearby first, and farther away unless that convinces. The consensus has no
// places when the pictures have too little in common.
func align(left, right *raster.Census, places []raster.Corner) consensus {
	s := searcher{from: left, to: right, sign: 1}
	w, h := float64(left.Width), float64(left.Height)
	places = strongest(places, alignPlaces, left.Width*raster.Quarter)
	var best consensus
	var list []candidate
	for _, reach := range searchWidths {
		across, down := int(reach*w), int(searchRows*h)
		win := window{minX: -across, maxX: across, minY: -down, maxY: down}
		var found []putative
		for _, c := range places {
			x, y := c.X/raster.Quarter, c.Y/raster.Quarter
			list = s.find(list, x, y, roughAlignment{}, win)
			if len(list) == 0 {
				continue
			}
			f := putative{x: float64(x) - (w-1)/2, y: float64(y) - (h-1)/2, n: len(list)}
			for i, k := range list {
				f.candidates[i] = point{float64(k.x) - (w-1)/2, float64(k.y) - (h-1)/2}
			}
			found = append(found, f)
		}
		if c := findConsensus(found, h); c.share > best.share {
			best = c
		}
		if best.share > sufficientConsensus {
			break
		}
	}
	if best.share < minConsensus+chanceConsensus/math.Sqrt(float64(best.found)) {
		return consensus{}
	}
	return best
}

// parallax returns the range of parallax, in quarter pixels, of the places that
// agree, and zero.
func (c *consensus) parallax() (near, far int) {
	for i := range c.places {
		k, _ := c.places[i].distance(c.roughAlignment)
		p := int(c.places[i].candidates[k].x - c.places[i].x)
		near, far = min(near, p), max(far, p)
	}
	return near, far
}

// consensus is an alignment with the places that agree with it.
type consensus struct {
	roughAlignment
	places []putative
	found  int     // how many places were found somewhere
	share  float64 // of all places that were found somewhere, less what is unusual; 0 when there are too few
}

// strongest thins corners to about n, keeping the strongest of each of n cells.
func strongest(places []raster.Corner, n, width int) []raster.Corner {
	if len(places) <= n {
		return places
	}
	cell := raster.CornerCell * int(math.Ceil(math.Sqrt(float64(len(places))/float64(n))))
	columns := width/cell + 1
	best := map[int]int{} // cell → index into places
	var order []int
	for i, c := range places {
		at := c.Y/cell*columns + c.X/cell
		if j, ok := best[at]; !ok {
			best[at] = i
			order = append(order, at)
		} else if c.Strength > places[j].Strength {
			best[at] = i
		}
	}
	out := make([]raster.Corner, len(order))
	for i, at := range order {
		out[i] = places[best[at]]
	}
	return out
}

// agreement finds the alignment that most of the places agree with: the best
// of random samples of three, then least squares over those that agree.
func findConsensus(found []putative, height float64) consensus {
	if len(found) < minAlignPlaces {
		return consensus{}
	}
	rng := rand.New(rand.NewPCG(1, 2))
	var best roughAlignment
	var maxScore float64
	for range alignTrials {
		g, ok := alignmentThrough(randomSample(found, rng), randomSample(found, rng), randomSample(found, rng))
		if !ok || math.Abs(g.roll) > maxRollZoom || math.Abs(g.zoom) > maxRollZoom || math.Abs(g.shift) > searchRows*height {
			continue
		}
		score := -g.penalty() * float64(len(found))
		for i := range found {
			if _, distance := found[i].distance(g); distance < inlierDistance {
				score += 1 - stat.Sq(distance/inlierDistance)
			}
		}
		if score > maxScore {
			best, maxScore = g, score
		}
	}
	c := consensus{roughAlignment: best, found: len(found)}
	for range 4 {
		c.places = nil
		var inliers []displacement
		for i := range found {
			if k, distance := found[i].distance(c.roughAlignment); distance < inlierDistance {
				c.places = append(c.places, found[i])
				inliers = append(inliers, found[i].displacement(k))
			}
		}
		g, ok := fitAlignment(inliers)
		if !ok {
			break
		}
		c.roughAlignment = g
	}
	if len(c.places) >= minAlignPlaces {
		c.share = float64(len(c.places))/float64(len(found)) - c.penalty()
	}
	return c
}

// unusual returns by what share more of the places must agree with the alignment
// than with none.
func (g roughAlignment) penalty() float64 {
	return unusualCost * (stat.Sq(g.roll/usualRollZoom) + stat.Sq(g.zoom/usualRollZoom))
}

// drop is by how much a place lies lower in the right picture, where it is at
// column rx.
type displacement struct{ rx, y, dy float64 }

func (s *putative) displacement(k int) displacement {
	return displacement{s.candidates[k].x, s.y, s.candidates[k].y - s.y}
}

// pick returns one of the places, found where one of its likenesses is.
func randomSample(found []putative, rng *rand.Rand) displacement {
	s := &found[rng.IntN(len(found))]
	return s.displacement(rng.IntN(s.n))
}

// through returns the alignment that three drops fix.
func alignmentThrough(p, q, r displacement) (roughAlignment, bool) {
	ax, ay, ad := q.rx-p.rx, q.y-p.y, q.dy-p.dy
	bx, by, bd := r.rx-p.rx, r.y-p.y, r.dy-p.dy
	det := ax*by - ay*bx
	if math.Abs(det) < 50 {
		return roughAlignment{}, false
	}
	g := roughAlignment{roll: (ad*by - ay*bd) / det, zoom: (ax*bd - ad*bx) / det}
	g.shift = p.dy - g.roll*p.rx - g.zoom*p.y
	return g, true
}

func fitAlignment(in []displacement) (roughAlignment, bool) {
	var n, sx, sy, sd, xx, xy, yy, xd, yd float64
	for _, f := range in {
		n++
		sx += f.rx
		sy += f.y
		sd += f.dy
		xx += f.rx * f.rx
		xy += f.rx * f.y
		yy += f.y * f.y
		xd += f.rx * f.dy
		yd += f.y * f.dy
	}
	if n < 3 {
		return roughAlignment{}, false
	}
	xx, xy, yy = xx-sx*sx/n, xy-sx*sy/n, yy-sy*sy/n
	xd, yd = xd-sx*sd/n, yd-sy*sd/n
	// A quarter pixel of a prior keeps roll and zoom at rest where the places
	// lie on a line or in a heap.
	xx, yy = xx+50, yy+50
	det := xx*yy - xy*xy
	g := roughAlignment{roll: (xd*yy - yd*xy) / det, zoom: (yd*xx - xd*xy) / det}
	g.shift = (sd - g.roll*sx - g.zoom*sy) / n
	return g, true
}
