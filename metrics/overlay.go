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
		l, r := p.written()
		return stat.Measured(100*(r.Share()-l.Share()), math.Hypot(100*light.OverlayPatch, 10*max(r.Share(), l.Share())))
	},
}

// written finds lettering in the left and in the right eye alone.
func (p *Pair) written() (left, right *light.Lettering) {
	if p.letters == nil {
		l, r := light.HardSteps(p.left().Full), light.HardSteps(p.right().Full)
		w, h := p.left().Full.Width/light.OverlayBlock, p.left().Full.Height/light.OverlayBlock
		p.letters = &[2]*light.Lettering{light.NewLettering(l, r, w, h), light.NewLettering(r, l, w, h)}
	}
	return p.letters[0], p.letters[1]
}
