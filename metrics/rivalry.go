package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var rivalry = Metric{
	Name: "rivalry", Unit: "% of picture area", Decimals: 2,
	Doc:   "Share of the picture that matches in shape but not in light, after the one difference of exposure, colour and lift that fits best is taken out: reflections that one camera alone sees, flare, a vignette, dirt. Never negative.",
	Ideal: 0, Swap: SwapKeep, Conditional: true, Revision: 6,
	Measure: func(p *Pair) stat.Measurement {
		m, reason := p.unlike()
		if m == nil {
			return stat.Missing(reason)
		}
		return stat.Measured(100*m.Share, math.Max(100*m.ShareSE, rivalryFloor))
	},
}

// unlike compares the light of both eyes all over the picture, or returns the
// reason why it can't.
func (p *Pair) unlike() (m *light.Rivalry, reason string) {
	g := p.grade()
	return g.unlike, g.unlikeReason
}

// findUnlike compares the light of both eyes by a balance of it.
func (p *Pair) findUnlike(balance *light.Balance) (*light.Rivalry, string) {
	both := p.light()
	v := light.RivalryInputs{
		Lights: both.lights, LeftCells: both.leftCells, RightCells: both.rightCells,
		Geometry: p.fitting.geometry, Right: p.right().Quarter,
	}
	v.LeftCeiling, v.RightCeiling = p.ceilings()
	v.LeftLetters, v.RightLetters = p.lettering()
	return v.FindRivalry(balance)
}

// rivalryFloor is the least standard error, in % of the picture: one small
// patch more or less.
const rivalryFloor = 0.05
