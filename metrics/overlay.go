package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var overlay = Metric{
	Name: "overlay", Unit: "% of picture area", Decimals: 2,
	Doc:   "Share of the picture that lettering or marks cover in the right eye alone, such as a timecode or a focus aid recorded by mistake, less that in the left alone. Positive: the right eye's picture is written on.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 2,
	Measure: func(p *Pair) stat.Measurement {
		if reason := p.unlikeSize(); reason != "" {
			return stat.Missing(reason)
		}
		l, r := p.lettering()
		return stat.Measured(100*(r.Share()-l.Share()), math.Hypot(100*light.MinLettering, 10*max(r.Share(), l.Share())))
	},
}

// lettering returns the burnt-in graphics of the left and of the right eye alone. The eyes'
// pictures must have one size.
func (p *Pair) lettering() (left, right *light.Lettering) {
	if p.letters == nil {
		letters := light.FindLettering(p.left().Full, p.right().Full)
		p.letters = &letters
	}
	return p.letters[0], p.letters[1]
}
