package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

type matching struct {
	matches []geometry.Match
	tried   int    // how many places were looked for
	reason  string // why there are no matches
}

// Matches returns places found in both pictures, well spread, in the order of the left
// picture's rows; or none and the reason.
func (p *Pair) Matches() (matches []geometry.Match, reason string) {
	if p.matching == nil {
		m := &matching{}
		if m.reason = p.differentSize(); m.reason == "" {
			m.matches, m.tried, m.reason = geometry.FindMatches(p.equalised().levels, p.ownPixels)
		}
		p.ownPixels = [2]*raster.Raster{}
		p.matching = m
	}
	return p.matching.matches, p.matching.reason
}

type fitting struct {
	fit    *geometry.Fit
	reason string // why there is none
}

// geometry returns the fit of the vertical disparity that the pictures show.
func (p *Pair) geometry() (g *geometry.Fit, reason string) {
	if p.pictureFit == nil {
		f := &fitting{}
		matches, reason := p.Matches()
		if reason != "" {
			f.reason = reason
		} else {
			f.fit, f.reason = geometry.FitRig(matches, p.matching.tried)
		}
		p.pictureFit = f
	}
	return p.pictureFit.fit, p.pictureFit.reason
}

// rig returns the fit of the vertical disparity that the rig makes: without what eyes out of
// sync make of motion. Without Motion that is the same as geometry.
func (p *Pair) rig() (g *geometry.Fit, reason string) {
	if p.Motion == nil {
		return p.geometry()
	}
	if p.rigFit == nil {
		p.rigFit = &fitting{}
		p.rigFit.fit, p.rigFit.reason = p.Motion.geometry(p)
	}
	return p.rigFit.fit, p.rigFit.reason
}

// RigState returns how the rig stands, as the pair alone tells it; nil where it tells nothing.
func (p *Pair) RigState() *geometry.State {
	g, _ := p.rig()
	if g == nil {
		return nil
	}
	if s, ok := g.State(); ok {
		return &s
	}
	return nil
}

// fitted measures something of the rig's geometry: its value, and the linear function of the
// terms that it is nearly, for its standard error.
func (p *Pair) fitted(of func(g *geometry.Fit) (value float64, d geometry.Terms)) Measurement {
	g, reason := p.rig()
	if g == nil {
		return stat.Missing(reason)
	}
	value, d := of(g)
	return stat.Measured(value, g.SE(d))
}

// ShiftsSince returns how far each eye's picture has moved as a whole since another pair of
// the same clip, earlier or later.
func (p *Pair) ShiftsSince(other *Pair) geometry.EyeShifts {
	return geometry.EyeShifts{Left: geometry.MeasureShift(other.left(), p.left()), Right: geometry.MeasureShift(other.right(), p.right())}
}

// OrientationShares looks for the right picture's places in all four orientations, with the
// frames as they are. The reason is empty unless there is too little to see.
func (p *Pair) OrientationShares() (r geometry.OrientationShares, reason string) {
	if r, reason = geometry.Relate(p.left(), p.right().Quarter); reason != "" {
		return r, reason
	}
	// The geometry decides where many places back more than one orientation, as on a nearly
	// symmetric test target.
	rivals := r.Rivals()
	if len(rivals) < 2 {
		return r, ""
	}
	all := float64(len(raster.Corners(p.left())))
	for _, o := range rivals {
		turned := Pair{Left: p.Left, Right: p.Right.Oriented(o)}
		r[o] = 0
		if g, _ := turned.geometry(); g != nil {
			r[o] = float64(g.CountWithin(geometry.OrientationTolerance)) / all
		}
	}
	return r, ""
}
