package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var overlay = Metric{
	Name: "overlay", Unit: "% of picture area", Decimals: 2,
	Doc:   "Share of the picture that burnt-in graphics cover in the right eye alone, such as a timecode or a focus aid recorded by mistake, less that in the left eye alone. Positive: they are in the right eye.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: oneEyeRevision,
	Measure: func(p *Pair) Measurement {
		if reason := p.differentSize(); reason != "" {
			return stat.Missing(reason)
		}
		l, r := p.lettering()
		return stat.Measured(100*(r.Share()-l.Share()), math.Hypot(100*light.MinLettering, 10*max(r.Share(), l.Share())))
	},
}
