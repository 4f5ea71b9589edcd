package record

import (
	"nightpair/metrics"
	"nightpair/metrics/depth"
	"nightpair/metrics/stat"
)

// Depths is where the things of one frame are, as parallax in % of the picture
// width: the nearest and the farthest hundredth, and the middle between all.
type Depths struct {
	Near   stat.Measurement `json:"near"`
	Far    stat.Measurement `json:"far"`
	Middle float64          `json:"middle"`
}

// NewDepths returns nil where depth was not measured.
func NewDepths(near, far stat.Measurement, spread *depth.Spread) *Depths {
	if !near.OK() || !far.OK() || spread == nil || len(spread.Parallax) != len(depth.SpreadPercentiles) {
		return nil
	}
	d := &Depths{Near: near, Far: far}
	for i, q := range depth.SpreadPercentiles {
		if q == 50 {
			d.Middle = spread.Parallax[i]
		}
	}
	return d
}

// Depths returns what was measured of a moment's depth, nil where it was not.
func (m Moment) Depths() *Depths {
	return NewDepths(m.Values[metrics.NearParallax], m.Values[metrics.FarParallax], m.Parallax)
}

// Of returns an end of the depth by the name of its metric.
func (d *Depths) Of(metric string) (stat.Measurement, bool) {
	switch {
	case d == nil:
		return stat.Measurement{}, false
	case metric == metrics.NearParallax:
		return d.Near, true
	case metric == metrics.FarParallax:
		return d.Far, true
	}
	return stat.Measurement{}, false
}
