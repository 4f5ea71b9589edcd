package metrics

import "nightpair/metrics/depth"

// Ownership looks at the half-hidden strips of both pictures.
func (p *Pair) Ownership() (depth.Ownership, string) {
	m, reason := p.disparity()
	if m == nil {
		return depth.Ownership{}, reason
	}
	g, _ := p.geometry()
	return m.Ownership(g, depth.NewChannels(p.Left, p.left().Full), depth.NewChannels(p.Right, p.right().Full), p.right().Full), ""
}
