package metrics

import (
	"nightpair/metrics/focus"
	"nightpair/metrics/stat"
)

var softness = Metric{
	Name: "softness", Unit: "px of Gaussian blur, in 1920-wide pixels", Decimals: 2,
	Doc:   "Blur of the right eye's picture beyond the left's: the sigma of the Gaussian that would make them alike, from how fast detail fades in what both eyes show, or far out of focus from how wide edges are. Positive: the right eye is softer.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 5,
	Measure: func(p *Pair) stat.Measurement { return p.softer(focus.Everywhere) },
}

var softnessNear = Metric{
	Name: "softness_near", Unit: softness.Unit, Decimals: 2,
	Doc:   "Softness of the nearest third of what both eyes show. Where it differs from softness_far the lenses are focused at different distances; where both are alike one lens is soft.",
	Ideal: 0, Swap: SwapPartner, Partner: "softness_far", Conditional: true, Revision: 5,
	Measure: func(p *Pair) stat.Measurement { return p.softer(focus.NearThird) },
}

var softnessFar = Metric{
	Name: "softness_far", Unit: softness.Unit, Decimals: 2,
	Doc:   "Softness of the farthest third of what both eyes show; see softness_near.",
	Ideal: 0, Swap: SwapPartner, Partner: "softness_near", Conditional: true, Revision: 5,
	Measure: func(p *Pair) stat.Measurement { return p.softer(focus.FarThird) },
}

// A Gaussian of sigma pixels leaves exp(−4π²σ²f²) of the power at f cycles per
// pixel. So what can be seen is by how much the squares of the two eyes' blurs
// differ, whatever lens and texture have in common, from the ratio of the powers of
// what both show: blur stands in px² in this and the following files, and is positive
// where the right eye is softer.
//
// Spectra are compared where they are nearly the same: the sharper eye's picture is
// blurred until they are. What windows, slants and edges do to a spectrum is then the
// same in both eyes, and so is much of what is not known of the noise.

// softer measures the blur of the right eye against the left.
func (p *Pair) softer(which focus.Part) stat.Measurement {
	m := p.softDetail().Softer(which)
	if !m.OK() && which == focus.Everywhere {
		return p.coarselySofter(m.Missing)
	}
	return m
}

// softDetail returns the detail that both eyes show.
func (p *Pair) softDetail() *focus.Detail {
	if p.detail == nil {
		both := p.light()
		g, _ := p.geometry()
		p.detail = focus.FindDetail(&focus.Inputs{
			Left: p.Left, Right: p.Right, Lights: both.lights, Reason: both.reason,
			Geometry: g, Quarter: p.right().Quarter, Grains: p.grains,
		})
	}
	return p.detail
}
