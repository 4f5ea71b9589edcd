package metrics

import "nightpair/metrics/depth"

// Spread returns how the parallax is spread, or the reason why it is not known.
func (p *Pair) Spread() (s *depth.Spread, reason string) {
	m, reason := p.disparity()
	if m == nil {
		return nil, reason
	}
	return m.Spread(p.left().Full)
}
