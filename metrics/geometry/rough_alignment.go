package geometry

import (
	"math"
	"math/rand/v2"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

const (
	// consensusPlaces is about how many corners are searched over the whole window,
	// consensusTrials how many random samples of three are tried, and minConsensusPlaces how
	// many places an alignment must rest on.
	consensusPlaces    = 250
	consensusTrials    = 1000
	minConsensusPlaces = 10
	// inlierDistance is the vertical distance, in quarter pixels, within which a place agrees
	// with an alignment.
	inlierDistance = 1.5
	// minConsensus is the share of the places that must agree, to which
	// chanceConsensus/√(number of places) is added. In two unrelated pictures some 20 to 29 %
	// agree by chance, as the window is 54 rows high and three candidates of each place count,
	// and more where places are few; these alignments are mostly unusual ones.
	minConsensus, chanceConsensus = 0.24, 0.5
	// unusualCost is the share of the places that must agree in addition for a roll, in
	// radians, or zoom, as a ratio, of usualRollZoom; it grows with the square of them.
	usualRollZoom, unusualCost = 0.05, 0.02
	// sufficientConsensus is the share that ends the search.
	sufficientConsensus = 0.6
	// maxRollZoom bounds roll, in radians, and zoom, as a ratio.
	maxRollZoom = 0.15
)

// roughAlignment is an alignment good to some pixels: what the left eye sees at height y lies
// shift + roll·x' + zoom·y lower in the right picture, at column x' there. Coordinates and
// shift are in pixels of the raster on which it was found, from its centre.
type roughAlignment struct{ shift, roll, zoom float64 }

// displacement returns by how much the place lies lower in the right picture.
func (g roughAlignment) displacement(rx, y float64) float64 { return g.shift + g.roll*rx + g.zoom*y }

// penalty returns by what share more of the places must agree with the alignment than with
// one without roll and zoom.
func (g roughAlignment) penalty() float64 {
	return unusualCost * (stat.Sq(g.roll/usualRollZoom) + stat.Sq(g.zoom/usualRollZoom))
}

// sample is by how much (dy) a place of left height y lies lower in the right picture, where
// it is at column rx.
type sample struct{ rx, y, dy float64 }

// putative is a place of the left picture with its candidates in the right one, best first.
// Where texture repeats, the first is not always the true one.
type putative struct {
	x, y       float64
	candidates [maxCandidates]point
	n          int
}

// point is a place in quarter pixels from the centre of the picture.
type point struct{ x, y float64 }

// nearest returns which of the candidates lies closest in height to where the alignment puts
// it, and how far away that is in quarter pixels.
func (s *putative) nearest(g roughAlignment) (k int, distance float64) {
	distance = math.Inf(1)
	for i, t := range s.candidates[:s.n] {
		if e := math.Abs(t.y - s.y - g.displacement(t.x, s.y)); e < distance {
			k, distance = i, e
		}
	}
	return k, distance
}

// sample returns the vertical displacement of candidate k.
func (s *putative) sample(k int) sample {
	return sample{s.candidates[k].x, s.y, s.candidates[k].y - s.y}
}

// consensus is an alignment with the places that agree with it.
type consensus struct {
	roughAlignment
	places []putative
	found  int     // how many places have candidates
	share  float64 // of these places that agree, less the penalty; 0 where too few agree
}

// parallax returns the range of parallax, in quarter pixels, of the places that
// agree; it includes zero.
func (c *consensus) parallax() (near, far int) {
	for i := range c.places {
		k, _ := c.places[i].nearest(c.roughAlignment)
		p := int(c.places[i].candidates[k].x - c.places[i].x)
		near, far = min(near, p), max(far, p)
	}
	return near, far
}

// align finds the rough alignment of two quarter rasters without any prior knowledge. It
// searches nearby first, and farther away unless that is sufficient. The consensus has no
// places when the pictures have too little in common.
func align(left, right *raster.Census, places []raster.Corner) consensus {
	s := searcher{from: left, to: right, sign: 1}
	w, h := float64(left.Width), float64(left.Height)
	places = strongest(places, consensusPlaces, left.Width*raster.Quarter)
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

// strongest returns the strongest corner of each of about n cells of a picture of the given
// width.
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

// findConsensus finds the alignment that most of the places agree with: the best of
// random samples of three, then least squares over the places that agree. Height is that of
// the raster in pixels.
func findConsensus(found []putative, height float64) consensus {
	if len(found) < minConsensusPlaces {
		return consensus{}
	}
	rng := rand.New(rand.NewPCG(1, 2))
	var best roughAlignment
	var maxScore float64
	for range consensusTrials {
		g, ok := alignmentThrough(randomSample(found, rng), randomSample(found, rng), randomSample(found, rng))
		if !ok || math.Abs(g.roll) > maxRollZoom || math.Abs(g.zoom) > maxRollZoom || math.Abs(g.shift) > searchRows*height {
			continue
		}
		score := -g.penalty() * float64(len(found))
		for i := range found {
			if _, distance := found[i].nearest(g); distance < inlierDistance {
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
		var samples []sample
		for i := range found {
			if k, distance := found[i].nearest(c.roughAlignment); distance < inlierDistance {
				c.places = append(c.places, found[i])
				samples = append(samples, found[i].sample(k))
			}
		}
		g, ok := fitAlignment(samples)
		if !ok {
			break
		}
		c.roughAlignment = g
	}
	if len(c.places) >= minConsensusPlaces {
		c.share = float64(len(c.places))/float64(len(found)) - c.penalty()
	}
	return c
}

// randomSample returns a random candidate of a random place.
func randomSample(found []putative, rng *rand.Rand) sample {
	s := &found[rng.IntN(len(found))]
	return s.sample(rng.IntN(s.n))
}

// alignmentThrough returns the alignment that three samples determine; false where they lie
// close together or nearly on a line.
func alignmentThrough(p, q, r sample) (roughAlignment, bool) {
	const minArea = 50 // of the parallelogram between them, in square quarter pixels
	roll, zoom, det := stat.Solve2(q.rx-p.rx, q.y-p.y, q.dy-p.dy, r.rx-p.rx, r.y-p.y, r.dy-p.dy)
	if math.Abs(det) < minArea {
		return roughAlignment{}, false
	}
	g := roughAlignment{roll: roll, zoom: zoom}
	g.shift = p.dy - g.roll*p.rx - g.zoom*p.y
	return g, true
}

// fitAlignment returns the least-squares alignment of the samples; false for fewer than
// three.
func fitAlignment(in []sample) (roughAlignment, bool) {
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
	const prior = 50 // keeps roll and zoom near zero where the places lie on a line or close together
	roll, zoom, _ := stat.Solve2(xx+prior, xy, xd, xy, yy+prior, yd)
	g := roughAlignment{roll: roll, zoom: zoom}
	g.shift = (sd - g.roll*sx - g.zoom*sy) / n
	return g, true
}
