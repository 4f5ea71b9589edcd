package metrics

import "nightpair/metrics/coarse"

// CoarsePrior returns what the pair tells of the geometry of frames around it; false where
// it tells nothing.
func (p *Pair) CoarsePrior() (coarse.Prior, bool) {
	g, _ := p.rig()
	if g == nil {
		return coarse.Prior{}, false
	}
	near, far := g.Depth()
	return coarse.Prior{
		Offset: g.Offset(), Roll: g.Roll(), Zoom: g.Zoom(),
		Near: near, Far: far,
		Rest: g.Remainder,
	}, true
}
