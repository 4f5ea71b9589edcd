package metrics

import "nightpair/metrics/focus"

var softness = Metric{
	Name: "softness", Unit: "px of Gaussian blur, in 1920-wide pixels", Decimals: 2,
	Doc:   "Blur of the right eye's picture beyond the left's: the sigma of the Gaussian that would make both equally sharp, from the spectra of what both eyes show, or far out of focus from the width of edges. Positive: the right eye is softer.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: softnessRevision,
	Measure: func(p *Pair) Measurement { return p.softness(focus.Everywhere) },
}

var softnessNear = Metric{
	Name: "softness_near", Unit: softness.Unit, Decimals: 2,
	Doc:   "Softness of the nearest third of what both eyes show. If it differs from softness_far, the lenses are focused at different distances; if both agree, one lens is soft.",
	Ideal: 0, Swap: SwapPartner, Partner: "softness_far", Conditional: true, Revision: softnessRevision,
	Measure: func(p *Pair) Measurement { return p.softness(focus.NearThird) },
}

var softnessFar = Metric{
	Name: "softness_far", Unit: softness.Unit, Decimals: 2,
	Doc:   "Softness of the farthest third of what both eyes show; see softness_near.",
	Ideal: 0, Swap: SwapPartner, Partner: "softness_near", Conditional: true, Revision: softnessRevision,
	Measure: func(p *Pair) Measurement { return p.softness(focus.FarThird) },
}
