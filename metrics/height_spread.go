package metrics

import (
	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
)

var heightSpread = Metric{
	Name: "height_spread", Unit: "% of picture height", Decimals: 3,
	Doc: "Vertical disparity that remains at the nearest and the farthest things (1st and 99th percentile of the parallax) when a shift has mended what lies " +
		"halfway between them, because one camera stands higher. Positive: the right eye sees what is far away lower than what is near.",
	Ideal: 0, Swap: SwapKeep, Revision: geometryRevision,
	Measure: func(p *Pair) Measurement {
		g, reason := p.rig()
		if g == nil {
			return stat.Missing(reason)
		}
		near, far := g.Depth()
		half := 100 * (far - near) / 2
		return stat.Measured(half*g.Terms[geometry.TermHeight], g.SE(geometry.Terms{geometry.TermHeight: half}))
	},
}
