package metrics

import "math"

var overlay = Metric{
	Name: "overlay", Unit: "% of picture area", Decimals: 2,
	Doc:   "Share of the picture that lettering or marks cover in the right eye alone, such as a timecode or a focus aid recorded by mistake, less that in the left alone. Positive: the right eye's picture is written on.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 2,
	Measure: func(p *Pair) Measurement {
		if reason := p.unlikeSize(); reason != "" {
			return Missing(reason)
		}
		l, r := p.written()
		return Measured(100*(r.share()-l.share()), math.Hypot(100*overlayPatch, 10*max(r.share(), l.share())))
	},
}

// written finds lettering in the left and in the right eye alone.
func (p *Pair) written() (left, right *lettering) {
	if p.letters == nil {
		l, r := hardSteps(p.left().full), hardSteps(p.right().full)
		w, h := p.left().full.width/overlayBlock, p.left().full.height/overlayBlock
		p.letters = &[2]*lettering{newLettering(l, r, w, h), newLettering(r, l, w, h)}
	}
	return p.letters[0], p.letters[1]
}
