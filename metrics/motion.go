package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/timing"
)

// Motion is what it takes to tell the geometry of a rig at a moment when its eyes
// are out of time: the pairs of consecutive frames before and after the moment,
// and the clip's timing.
type Motion struct {
	Before, After *Pair // nil where they cannot be seen
	Timing        *timing.Timing
}

// noFollowing is why the geometry of a rig cannot be told.
const noFollowing = "the eyes are out of time, and at this moment the motion cannot be followed"

// rig returns the fit of the vertical disparity that the rig makes: as geometry
// does, but without what eyes out of time make of motion. Without Motion they are
// the same.
func (p *Pair) rig() (g *geometry.Fit, reason string) {
	if p.Motion == nil {
		return p.geometry()
	}
	if p.rigging == nil {
		p.rigging = &fitting{}
		p.rigging.geometry, p.rigging.reason = p.Motion.geometry(p)
	}
	return p.rigging.geometry, p.rigging.reason
}

// geometry fits the geometry to the places as both eyes would show them at once.
// What the timing itself may be wrong by goes into the covariance: by what the
// terms change with it.
func (m *Motion) geometry(p *Pair) (*geometry.Fit, string) {
	if m.Before == nil || m.After == nil {
		return nil, noFollowing
	}
	matches, left, right, reason := consecutive(m.Before, p, m.After)
	var places []timing.MovingMatch
	if reason == "" {
		places, reason = timing.Follow(matches, left, right)
	}
	if reason != "" {
		return nil, noFollowing + ": " + reason
	}
	delay, se := m.Timing.DelayAt(p.Left.Time)
	skew, skewSE := m.Timing.KnownSkew()
	g, reason := geometry.FitRig(timing.Synchronised(places, delay, skew), 0)
	if g == nil {
		return nil, reason
	}
	for _, off := range [][2]float64{{se, 0}, {0, skewSE}} {
		other, _ := geometry.FitRig(timing.Synchronised(places, delay+off[0], skew+off[1]), 0)
		if other == nil {
			return nil, noFollowing
		}
		g.Widen(g.Apart(other))
	}
	return g, ""
}
