package depth

import (
	"math"

	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
)

// Ownership counts the places of a picture that show which eye is which. A strip beside the edge
// of a nearer thing that one eye alone sees belongs to the surface behind. If the eyes are
// exchanged, far is taken for near, and the strip looks like the nearer side.
type Ownership struct {
	Behind int // places whose strip looks like what is farther away: eyes as named
	Before int // places whose strip looks like what is nearer: eyes exchanged
	// Ground is the correlation of parallax with height in the picture, −1 to 1: near 1
	// where things are the farther away the higher they stand, as on ground seen from above.
	// It is weak evidence, as a ceiling gives −1. 0 where it is not known.
	Ground float64
}

// Plus returns the sum with what another moment of the same clip shows.
func (o Ownership) Plus(p Ownership) Ownership {
	return Ownership{Behind: o.Behind + p.Behind, Before: o.Before + p.Before, Ground: o.Ground + p.Ground}
}

const (
	// The places show the order if those of one kind outnumber the others by minOwnership
	// and by ownershipSure standard errors of a fair coin.
	ownershipSure = 3
	minOwnership  = 6
	// groundSure is the mean Ground from which on the eyes are taken to be as named
	// if the places do not say otherwise.
	groundSure = 0.7
)

// Named reports, for a sum over so many moments, whether the eyes are as named; known is false
// where that is not clear. Moments of one clip show much the same things, so the standard
// error grows with them. Exchanged eyes are never inferred from Ground alone.
func (o Ownership) Named(moments int) (named, known bool) {
	lead, all := float64(o.Behind-o.Before), float64(o.Behind+o.Before)
	if math.Abs(lead) >= minOwnership && math.Abs(lead) >= ownershipSure*math.Sqrt(all)*math.Pow(float64(moments), 0.25) {
		return lead > 0, true
	}
	return true, moments > 0 && lead >= 0 && o.Ground >= groundSure*float64(moments)
}

// Ownership counts the places that show which eye is which. Left and right are the channels of
// both pictures, and full is the right full raster.
func (m *Map) Ownership(g *geometry.Fit, left, right Channels, full *raster.Raster) Ownership {
	s := strips{depth: m, g: g, left: left, right: right, raster: full}
	o := s.count()
	o.Ground = m.ground()
	return o
}

// ground returns the correlation of parallax with height in the picture, 0 where it has none.
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
