package metrics

// FocusBands returns the sharpness by parallax from the nearest to the farthest,
// or none where it cannot be told.
func (p *Pair) FocusBands() []FocusBand {
	m, _ := p.disparity()
	if m == nil || len(m.claimed()) == 0 {
		return nil
	}
	return m.focusBands(p.Left, p.left().full, p.leftNoise())
}
