package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
)

// Relation looks for the right picture's places in all four orientations. The
// frames are taken as they are. The reason is empty unless there is too little
// to see.
func (p *Pair) Relation() (r geometry.Relation, reason string) {
	if r, reason = geometry.Relate(p.left(), p.right().Quarter); reason != "" {
		return r, reason
	}
	// Look closer where more than one orientation is backed by many places, as on a
	// target that is nearly symmetric.
	rivals := r.Rivals()
	if len(rivals) < 2 {
		return r, ""
	}
	all := float64(len(raster.Corners(p.left())))
	for _, o := range rivals {
		turned := Pair{Left: p.Left, Right: p.Right.Oriented(o)}
		r[o] = 0
		if g, _ := turned.geometry(); g != nil {
			r[o] = float64(g.CountWithin(geometry.RelationTolerance)) / all
		}
	}
	return r, ""
}
