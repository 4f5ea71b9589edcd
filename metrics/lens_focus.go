package metrics

import "math"

var focusLeft = Metric{
	Name: "focus_left", Unit: "px² of blur, in 1920-wide pixels", Decimals: 1,
	Doc: "Focus of the left lens: by how much more the left picture is blurred far away than near, as the difference of the squares of the sigmas. " +
		"Positive: focused nearer than the middle of the scene. The texture of the scene adds a constant, so changes within a shot say more than the value; the standard error is that of the same scene measured again.",
	Ideal: math.NaN(), Swap: SwapPartner, Partner: "focus_right", Conditional: true, Revision: lensFocusRevision,
	Measure: func(p *Pair) Measurement {
		return p.lensFocus()[0]
	},
}

var focusRight = Metric{
	Name: "focus_right", Unit: focusLeft.Unit, Decimals: 1,
	Doc:   "Focus of the right lens; see focus_left. When both lenses are pulled together, both change together.",
	Ideal: math.NaN(), Swap: SwapPartner, Partner: "focus_left", Conditional: true, Revision: lensFocusRevision,
	Measure: func(p *Pair) Measurement {
		return p.lensFocus()[1]
	},
}
