package metrics

import (
	"math"

	"nightpair/metrics/stat"
)

var focusLeft = Metric{
	Name: "focus_left", Unit: "px² of blur, in 1920-wide pixels", Decimals: 1,
	Doc: "Where the left lens is focused: by how much more what is far is blurred in the left picture than what is near, as the difference of the squares of the sigmas. " +
		"Positive: nearer than the middle of what is seen. The texture of what is seen adds to it: its changes within a shot say more than its value, and the standard error is that of the same places seen again.",
	Ideal: math.NaN(), Swap: SwapPartner, Partner: "focus_right", Conditional: true, Revision: 3,
	Measure: func(p *Pair) stat.Measurement {
		return p.lensFocus()[0]
	},
}

var focusRight = Metric{
	Name: "focus_right", Unit: focusLeft.Unit, Decimals: 1,
	Doc:   "Where the right lens is focused; see focus_left. Over a clip both change in step when both lenses are focused together.",
	Ideal: math.NaN(), Swap: SwapPartner, Partner: "focus_left", Conditional: true, Revision: 3,
	Measure: func(p *Pair) stat.Measurement {
		return p.lensFocus()[1]
	},
}

func (p *Pair) lensFocus() *[2]stat.Measurement {
	if p.lenses == nil {
		lenses := p.softDetail().LensFocus()
		p.lenses = &lenses
	}
	return p.lenses
}
