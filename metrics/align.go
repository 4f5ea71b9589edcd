package metrics

import (
	"math"
	"math/rand/v2"
)

const (
	alignPlaces = 400 // how many places are searched for over the whole window
	alignTrials = 400
	// alignWithin is how far, in quarter pixels, a place may lie from where the
	// alignment puts it.
	alignWithin = 1.5
	// alignShare is the least share of places that must agree. Of two unrelated
	// pictures some 8 to 12 % agree by chance, as the window is 54 rows high.
	alignShare = 0.25
	alignLeast = 10
)

// shift is a place of the left picture found in the right one.
type shift struct{ x, y, rx, ry float64 }

// align finds the rough alignment of two quarter-size pictures from nothing.
// It returns false when they have too little in common.
func align(left, right *census, places []corner) (rough, bool) {
	s := searcher{from: left, to: right, sign: 1}
	w, h := float64(left.width), float64(left.height)
	across, down := int(searchAcross*w), int(searchDown*h)
	win := window{left: -across, right: across, up: -down, down: down}
	var found []shift
	var list []candidate
	for _, c := range strongest(places, alignPlaces, left.width*quarter) {
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
	return consensus(found, h)
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

// consensus fits a rough alignment to what most of the places agree on.
func consensus(found []shift, height float64) (rough, bool) {
	if len(found) < alignLeast {
		return rough{}, false
	}
	rng := rand.New(rand.NewPCG(1, 2))
	var best rough
	var most float64
	score := func(g rough) (sum float64) {
		for _, f := range found {
			e := (f.ry - f.y - g.drop(f.rx, f.y)) / alignWithin
			if e *= e; e < 1 {
				sum += 1 - e
			}
		}
		return sum
	}
	for range alignTrials {
		p, q, r := found[rng.IntN(len(found))], found[rng.IntN(len(found))], found[rng.IntN(len(found))]
		g, ok := through(p, q, r)
		if !ok || math.Abs(g.roll) > 0.15 || math.Abs(g.zoom) > 0.15 || math.Abs(g.shift) > height/4 {
			continue
		}
		if s := score(g); s > most {
			best, most = g, s
		}
	}
	agree := func(g rough) (in []shift) {
		for _, f := range found {
			if math.Abs(f.ry-f.y-g.drop(f.rx, f.y)) < alignWithin {
				in = append(in, f)
			}
		}
		return in
	}
	for range 3 {
		g, ok := leastSquares(agree(best))
		if !ok {
			break
		}
		best = g
	}
	n := len(agree(best))
	return best, n >= alignLeast && float64(n) >= alignShare*float64(len(found))
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
