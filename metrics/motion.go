package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/timing"
)

// Motion is what it takes to find the geometry of the rig at a moment when the eyes are out
// of sync: the pairs of the frames before and after it, and the clip's timing.
type Motion struct {
	Before, After *Pair // nil where they cannot be read
	Timing        *timing.Timing
}

// noFollowing is why the geometry of the rig cannot be found.
const noFollowing = "the eyes are out of time, and at this moment the motion cannot be followed"

// geometry fits the rig's geometry to the places of p as both eyes would show them at one
// instant. The covariance includes the standard errors of the timing: by how much the terms
// change with it.
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
		g.AddError(g.Difference(other))
	}
	return g, ""
}
