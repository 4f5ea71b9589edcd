package metrics

import "math"

var rivalry = Metric{
	Name: "rivalry", Unit: "% of picture area", Decimals: 2,
	Doc:   "Share of the picture that matches in shape but not in light, after the one difference of exposure, colour and lift that fits best is taken out: reflections that one camera alone sees, flare, a vignette, dirt. Never negative.",
	Ideal: 0, Swap: SwapKeep, Conditional: true, Revision: 6,
	Measure: func(p *Pair) Measurement {
		m, reason := p.unlike()
		if m == nil {
			return Missing(reason)
		}
		return Measured(100*m.share, math.Max(100*m.shareSE, rivalryFloor))
	},
}

// unlike compares the light of both eyes all over the picture, or returns the
// reason why it can't.
func (p *Pair) unlike() (m *unlike, reason string) {
	g := p.grade()
	return g.unlike, g.unlikeReason
}

// findUnlike compares the light of both eyes by a balance of it.
func (p *Pair) findUnlike(balance *balance) (*unlike, string) {
	both := p.light()
	v := view{
		lights: both.lights, leftCells: both.leftCells, rightCells: both.rightCells,
		geometry: p.fitting.geometry, right: p.right().quarter,
	}
	v.leftTop, v.rightTop = p.ceilings()
	v.leftLetters, v.rightLetters = p.written()
	return v.unlike(balance)
}

// rivalryFloor is the least standard error, in % of the picture: one small
// patch more or less.
const rivalryFloor = 0.05
