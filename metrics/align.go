package metrics

import (
	"math"
	"math/rand/v2"
)

const (
	alignPlaces = 250 // how many places are searched for over the whole window
	alignTrials = 400
	// alignWithin is how far, in quarter pixels, a place may lie from where the
	// alignment puts it.
	alignWithin = 1.5
	// alignShare is the least share of places that must agree. Of two unrelated
	// pictures some 8 to 12 % agree by chance, as the window is 54 rows high.
	alignShare = 0.25
	alignLeast = 10
	// alignSure is the share that ends the search.
	alignSure = 0.6
	// alignTilt bounds roll, in radians, and zoom, as a ratio.
	alignTilt = 0.15
)

// shift is a place of the left picture found in the right one.
type shift struct{ x, y, rx, ry float64 }

// align finds the rough alignment of two quarter-size pictures from nothing. It
// looks nearby first, and farther away unless that convinces. The consensus is
// empty when the pictures have too little in common.
func align(left, right *census, places []corner) consensus {
	s := searcher{from: left, to: right, sign: 1}
	w, h := float64(left.width), float64(left.height)
	places = strongest(places, alignPlaces, left.width*quarter)
	var best consensus
	var list []candidate
	for _, reach := range searchAcross {
		across, down := int(reach*w), int(searchDown*h)
		win := window{left: -across, right: across, up: -down, down: down}
		var found []shift
		for _, c := range places {
			x, y := c.x/quarter, c.y/quarter
			list = s.find(list, x, y, rough{}, win)
			if len(list) == 0 {
				continue
			}
			found = append(found, shift{
				x: float64(x) - (w-1)/2, y: float64(y) - (h-1)/2,
				rx: float64(list[0].x) - (w-1)/2, ry: float64(list[0].y) - (h-1)/2,
			})
		}
		if c := agreement(found, h); c.share > best.share {
			best = c
		}
		if best.share > alignSure {
			break
		}
	}
	if best.share < alignShare {
		return consensus{}
	}
	return best
}

// parallax returns the range of parallax, in quarter pixels, of the places that
// agree, and zero.
func (c *consensus) parallax() (near, far int) {
	for _, f := range c.places {
		p := int(f.rx - f.x)
		near, far = min(near, p), max(far, p)
	}
	return near, far
}

// consensus is an alignment with the places that agree with it.
type consensus struct {
	rough
	places []shift
	share  float64 // of all places that were found somewhere; 0 when there are too few
}

// strongest thins corners to about n, keeping the strongest of each of n cells.
func strongest(places []corner, n, width int) []corner {
	if len(places) <= n {
		return places
	}
	cell := cornerCell * int(math.Ceil(math.Sqrt(float64(len(places))/float64(n))))
	columns := width/cell + 1
	best := map[int]int{} // cell → index into places
	var order []int
	for i, c := range places {
		at := c.y/cell*columns + c.x/cell
		if j, ok := best[at]; !ok {
			best[at] = i
			order = append(order, at)
		} else if c.strength > places[j].strength {
			best[at] = i
		}
	}
	out := make([]corner, len(order))
	for i, at := range order {
		out[i] = places[best[at]]
	}
	return out
}

// agreement finds the alignment that most of the places agree with: the best
// of random samples of three, then least squares over those that agree.
func agreement(found []shift, height float64) consensus {
	if len(found) < alignLeast {
		return consensus{}
	}
	rng := rand.New(rand.NewPCG(1, 2))
	var best rough
	var most float64
	for range alignTrials {
		p, q, r := found[rng.IntN(len(found))], found[rng.IntN(len(found))], found[rng.IntN(len(found))]
		g, ok := through(p, q, r)
		if !ok || math.Abs(g.roll) > alignTilt || math.Abs(g.zoom) > alignTilt || math.Abs(g.shift) > searchDown*height {
			continue
		}
		var sum float64
		for _, f := range found {
			if e := sq((f.ry - f.y - g.drop(f.rx, f.y)) / alignWithin); e < 1 {
				sum += 1 - e
			}
		}
		if sum > most {
			best, most = g, sum
		}
	}
	c := consensus{rough: best}
	for range 4 {
		c.places = nil
		for _, f := range found {
			if math.Abs(f.ry-f.y-c.drop(f.rx, f.y)) < alignWithin {
				c.places = append(c.places, f)
			}
		}
		g, ok := leastSquares(c.places)
		if !ok {
			break
		}
		c.rough = g
	}
	if len(c.places) >= alignLeast {
		c.share = float64(len(c.places)) / float64(len(found))
	}
	return c
}

// through returns the alignment that three places fix.
func through(p, q, r shift) (rough, bool) {
	ax, ay, ad := q.rx-p.rx, q.y-p.y, (q.ry-q.y)-(p.ry-p.y)
	bx, by, bd := r.rx-p.rx, r.y-p.y, (r.ry-r.y)-(p.ry-p.y)
	det := ax*by - ay*bx
	if math.Abs(det) < 50 {
		return rough{}, false
	}
	g := rough{roll: (ad*by - ay*bd) / det, zoom: (ax*bd - ad*bx) / det}
	g.shift = p.ry - p.y - g.roll*p.rx - g.zoom*p.y
	return g, true
}

func leastSquares(in []shift) (rough, bool) {
	var n, sx, sy, sd, xx, xy, yy, xd, yd float64
	for _, f := range in {
		d := f.ry - f.y
		n++
		sx += f.rx
		sy += f.y
		sd += d
		xx += f.rx * f.rx
		xy += f.rx * f.y
		yy += f.y * f.y
		xd += f.rx * d
		yd += f.y * d
	}
	if n < 3 {
		return rough{}, false
	}
	xx, xy, yy = xx-sx*sx/n, xy-sx*sy/n, yy-sy*sy/n
	xd, yd = xd-sx*sd/n, yd-sy*sd/n
	// A quarter pixel of a prior keeps roll and zoom at rest where the places
	// lie on a line or in a heap.
	xx, yy = xx+50, yy+50
	det := xx*yy - xy*xy
	g := rough{roll: (xd*yy - yd*xy) / det, zoom: (yd*xx - xd*xy) / det}
	g.shift = (sd - g.roll*sx - g.zoom*sy) / n
	return g, true
}
