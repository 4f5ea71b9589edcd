package metrics

import "math"

var verticalWorst = Metric{
	Name: "vertical_worst", Unit: "% of picture height", Decimals: 3,
	Doc:   "Size of the vertical disparity that 95 % of the picture stays below: the fitted field with what scatters about it. Never negative.",
	Ideal: 0, Swap: SwapKeep, Revision: 1,
	Measure: func(p *Pair) Measurement {
		g, reason := p.geometry()
		if g == nil {
			return Missing(reason)
		}
		places := g.field(p.halfWidth())
		sizes := make([]float64, len(places))
		for i, d := range places {
			sizes[i] = math.Hypot(g.dot(d), g.residual)
		}
		worst := quantile(append([]float64(nil), sizes...), 0.95)
		// The standard error is that of the field where it is about the worst.
		at := 0
		for i, s := range sizes {
			if math.Abs(s-worst) < math.Abs(sizes[at]-worst) {
				at = i
			}
		}
		return Measured(100*worst, 100*g.se(places[at]))
	},
}

// field returns the terms' factors on a grid over the whole picture, with the
// parallax of the nearest match at each place.
func (g *geometry) field(halfWidth float64) (places []terms) {
	const across, down = 24, 14
	for j := range down {
		for i := range across {
			x := (2*(float64(i)+0.5)/across - 1) * halfWidth
			y := (float64(j)+0.5)/down - 0.5
			nearest := &g.matches[0]
			for k := range g.matches {
				m := &g.matches[k]
				if sq(m.LeftX-x)+sq(m.LeftY-y) < sq(nearest.LeftX-x)+sq(nearest.LeftY-y) {
					nearest = m
				}
			}
			parallax := nearest.RightX - nearest.LeftX
			places = append(places, terms{1, x + parallax, y, (x + parallax) * y, y * y, parallax, y * parallax})
		}
	}
	return places
}
