package metrics

import (
	"nightpair/metrics/coarse"
	"nightpair/metrics/stat"
)

// CoarsePrior returns what the pair tells of the geometry of frames around it; false where
// it tells nothing.
func (p *Pair) CoarsePrior() (coarse.Prior, bool) {
	g, _ := p.rig()
	if g == nil {
		return coarse.Prior{}, false
	}
	parallax := make([]float64, len(g.Matches))
	for i := range g.Matches {
		parallax[i] = g.Matches[i].RightX - g.Matches[i].LeftX
	}
	return coarse.Prior{
		Offset: g.Offset(), Roll: g.Roll(), Zoom: g.Zoom(),
		Near: stat.Quantile(parallax, 0.01), Far: stat.Quantile(parallax, 0.99),
		Rest: g.Remainder,
	}, true
}
