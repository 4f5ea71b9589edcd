package metrics

import "nightpair/metrics/depth"

// FocusBands returns the sharpness by parallax from the nearest to the farthest,
// or none where it cannot be told.
func (p *Pair) FocusBands() []depth.FocusBand {
	m, _ := p.disparity()
	if m == nil || len(m.Ascending()) == 0 {
		return nil
	}
	return m.FocusBands(p.Left, p.left().Full, p.leftNoise())
}
