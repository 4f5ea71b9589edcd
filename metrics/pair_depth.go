package metrics

import "nightpair/metrics/depth"

// depth returns the dense map of parallax.
func (p *Pair) depth() (m *depth.Map, reason string) {
	g, reason := p.geometry()
	if g == nil {
		return nil, reason
	}
	if p.depthMap == nil {
		p.depthMap = depth.NewMap(p.equalised().levels[0], p.equalised().levels[1], g)
	}
	return p.depthMap, ""
}

// Spread returns how the parallax is distributed, or nil and the reason.
func (p *Pair) Spread() (s *depth.Spread, reason string) {
	m, reason := p.depth()
	if m == nil {
		return nil, reason
	}
	return m.Spread(p.left().Full)
}

// Ownership looks at the half-occluded strips of both pictures, which show which eye is the
// left one, or returns the reason why it cannot.
func (p *Pair) Ownership() (depth.Ownership, string) {
	m, reason := p.depth()
	if m == nil {
		return depth.Ownership{}, reason
	}
	g, _ := p.geometry()
	return m.Ownership(g, depth.NewChannels(p.Left, p.left().Full), depth.NewChannels(p.Right, p.right().Full), p.right().Full), ""
}

// EdgeViolations returns the window violations at the edges of the picture, or the reason why they
// are not known: first those of the left and the right edge, each from its top, then those of
// the top and the bottom, which matter less.
func (p *Pair) EdgeViolations() (violations []depth.EdgeViolation, reason string) {
	e, reason := p.edges()
	if reason != "" {
		return nil, reason
	}
	return e.Violations(), ""
}

func (p *Pair) edges() (e depth.Edges, reason string) {
	m, reason := p.depth()
	if m == nil {
		return e, reason
	}
	g, _ := p.geometry()
	return depth.FindEdges(m, g, p.left().Full, p.right().Full, p.left().Noise), ""
}

// FocusBands returns the sharpness of the left picture by parallax from the nearest to the
// farthest; nil where there is none.
func (p *Pair) FocusBands() []depth.FocusBand {
	m, _ := p.depth()
	if m == nil || len(m.Ascending()) == 0 {
		return nil
	}
	return m.FocusBands(p.Left, p.left().Full, p.leftNoise())
}
