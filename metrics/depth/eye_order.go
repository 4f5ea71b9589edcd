package depth

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/picture"
	"nightpair/metrics/raster"
)

// Ownership counts places in the picture that tell which eye is which. Beside
// the edge of a nearer thing lies a strip that one eye alone sees (K. Nakayama,
// S. Shimojo, "Da Vinci stereopsis", Vision Research 30, 1990). It belongs to
// the surface behind and so looks like it. When the eyes are exchanged, what is
// behind is taken for what is before, and the strip looks like the nearer side.
type Ownership struct {
	Behind int // places whose strip looks like what is farther away: eyes as named
	Before int // places whose strip looks like what is nearer: eyes exchanged
	// Ground is how parallax goes with height in the picture, a correlation:
	// near 1 where things are the farther away the higher they stand, as on
	// ground seen from above. It is weak evidence: a ceiling gives −1.
	Ground float64
}

// Plus adds what another moment of the same clip shows.
func (o Ownership) Plus(p Ownership) Ownership {
	return Ownership{Behind: o.Behind + p.Behind, Before: o.Before + p.Before, Ground: o.Ground + p.Ground}
}

const (
	// ownershipSure is by how many standard errors of a fair coin the places must
	// speak for one side, and minOwnership by how many places.
	ownershipSure = 3
	minOwnership  = 6
	// groundSure is the mean correlation that speaks for the eyes being as named,
	// when the places do not speak against it.
	groundSure = 0.7
)

// Named says whether the sum over so many moments shows the eyes to be as named;
// known is false where it does not tell. Moments of one clip show much the same,
// so more of them add only as the root of their number. Exchanged eyes are never
// inferred from the ground alone.
func (o Ownership) Named(moments int) (named, known bool) {
	lead, all := float64(o.Behind-o.Before), float64(o.Behind+o.Before)
	if math.Abs(lead) >= minOwnership && math.Abs(lead) >= ownershipSure*math.Sqrt(all)*math.Pow(float64(moments), 0.25) {
		return lead > 0, true
	}
	return true, moments > 0 && lead >= 0 && o.Ground >= groundSure*float64(moments)
}

const (
	// minStrip and maxStrip bound the width of a strip in pixels of the full raster:
	// enough to have a look of its own, and not so much that it is something else.
	minStrip = 3
	maxStrip = 64
	// stripGap is how many quarter pixels without parallax may lie between the
	// sides, beyond the strip itself.
	stripGap = 4
	// stripSide is how many pixels of a side are looked at.
	stripSide = 6
	// stripTell is how much less alike, in 8-bit code values, the strip must be
	// to one side than to the other.
	stripMargin = 4
	// stripMiss is the largest difference of two pixels that counts, in 8-bit code
	// values over all planes.
	maxDifference = 40
	// stripTile is the side in quarter pixels of the tiles that give one place: the
	// rows of one edge are one piece of evidence.
	stripTile = 12
)

// Ownership counts the places that tell which eye is which, in pictures whose full rasters
// are of the given size.
func (m *Map) Ownership(g *geometry.Fit, left, right Channels, full *raster.Raster) Ownership {
	s := strips{depth: m, g: g, left: left, right: right, raster: full}
	o := s.count()
	o.Ground = m.ground()
	return o
}

// ground returns the correlation of parallax with height in the picture.
func (m *Map) ground() float64 {
	var n, sp, sy, pp, py, yy float64
	for i, v := range m.Parallax {
		if v != v {
			continue
		}
		p, y := float64(v), -float64(i/m.Width)
		n++
		sp += p
		sy += y
		pp += p * p
		py += p * y
		yy += y * y
	}
	spread := (pp - sp*sp/n) * (yy - sy*sy/n)
	if n < 2 || !(spread > 0) {
		return 0
	}
	return (py - sp*sy/n) / math.Sqrt(spread)
}

// looks is a picture's planes on the full raster, in 8-bit code values.
type Channels [][]float32

func NewChannels(f *picture.Frame, r *raster.Raster) Channels {
	l := make(Channels, len(f.Planes))
	for i, p := range f.Planes {
		l[i] = p.Boxed(r.Width, r.Height)
		for k := range l[i] {
			l[i][k] /= float32(int(1) << (f.Depth - 8))
		}
	}
	return l
}

type strips struct {
	depth       *Map
	g           *geometry.Fit
	left, right Channels
	raster      *raster.Raster
}

// count goes along the rows from edge to edge. Where parallax falls from left to
// right, the left eye sees a strip that the right one does not; where it rises,
// the right eye does.
func (s *strips) count() (o Ownership) {
	m := s.depth
	columns := m.Width/stripTile + 1
	votes := make([]int, columns*(m.Height/stripTile+1))
	for y := 1; y < m.Height-1; y++ {
		row := m.Parallax[y*m.Width:][:m.Width]
		last := -1
		for x, p := range row {
			if p != p {
				continue
			}
			if last >= 0 {
				before, after := float64(row[last]), float64(p)
				step := math.Abs(before - after)
				if step >= minStrip && step <= maxStrip && float64(raster.Quarter*(x-last)) < step+raster.Quarter*stripGap {
					votes[y/stripTile*columns+x/stripTile] += s.vote(raster.Quarter*last+1, raster.Quarter*x+1, raster.Quarter*y+1, before, after)
				}
			}
			last = x
		}
	}
	for _, v := range votes {
		switch {
		case v > 0:
			o.Behind++
		case v < 0:
			o.Before++
		}
	}
	return o
}

// vote looks at one row of an edge between the full-size columns a and b of the
// left picture, where parallax is pa and pb. It returns 1 where the strip that
// one eye sees looks like what is farther away, −1 where it looks like what is
// nearer, and 0 where it does not tell.
func (s *strips) vote(a, b, y int, pa, pb float64) int {
	drop := func(x float64) int { return int(math.Round(s.g.DisplacementAt(s.raster, x, float64(y)))) }
	if pa > pb {
		to := func(x int, p float64) (int, int) {
			rx := float64(x) + p
			return int(math.Round(rx)), y + drop(rx)
		}
		return s.closerSide(s.left, s.right, a, b, y, pa, pb, int(math.Round(pa-pb)), to)
	}
	ra, rb := int(math.Round(float64(a)+pa)), int(math.Round(float64(b)+pb))
	to := func(x int, p float64) (int, int) { return int(math.Round(float64(x) - p)), y }
	return -s.closerSide(s.right, s.left, ra, rb, y+drop(float64(ra+rb)/2), pa, pb, int(math.Round(pb-pa)), to)
}

// side says which surface a strip of the given width looks like, that of column
// a, 1, or that of column b, −1, in the eye that alone sees it. To takes a column of
// that eye's picture to the place of the other's that shows it at a parallax.
func (s *strips) closerSide(own, other Channels, a, b, y int, pa, pb float64, width int, to func(x int, p float64) (int, int)) int {
	w, h := s.raster.Width, s.raster.Height
	// The strip starts where a's surface stops to match the other picture and
	// ends where b's starts to.
	from, last := a-raster.Quarter, b+raster.Quarter+1-width
	if last < from || from-stripSide < 0 || last+width+stripSide >= w || y < 1 || y >= h-1 {
		return 0
	}
	difference := func(x int, p float64) float64 {
		ox, oy := to(x, p)
		if ox < 0 || ox >= w || oy < 0 || oy >= h {
			return maxDifference / 2
		}
		var sum float64
		for c := range own {
			sum += math.Abs(float64(own[c][y*w+x] - other[c][oy*w+ox]))
		}
		return min(sum, maxDifference)
	}
	// Columns before e belong to a, from e+width on to b.
	var onA, onB float64
	for x := from + width; x <= last+width; x++ {
		onB += difference(x, pb)
	}
	minCost, start := math.Inf(1), from
	for e := from; e <= last; e++ {
		if onA+onB < minCost {
			minCost, start = onA+onB, e
		}
		onA += difference(e, pa)
		onB -= difference(e+width, pb)
	}
	strip := own.mean(start, width, y, w)
	sideA, sideB := own.mean(start-stripSide, stripSide, y, w), own.mean(start+width, stripSide, y, w)
	var da, db float64
	for c := range strip {
		da += math.Abs(strip[c] - sideA[c])
		db += math.Abs(strip[c] - sideB[c])
	}
	switch {
	case db-da > stripMargin && db > 2*da:
		return 1
	case da-db > stripMargin && da > 2*db:
		return -1
	}
	return 0
}

// mean returns the mean look of n pixels from x on, over three rows.
func (l Channels) mean(x, n, y, width int) (out [3]float64) {
	for c, plane := range l {
		for dy := -1; dy <= 1; dy++ {
			for _, v := range plane[(y+dy)*width+x:][:n] {
				out[c] += float64(v)
			}
		}
		out[c] /= float64(3 * n)
	}
	return out
}
