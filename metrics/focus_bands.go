package metrics

// FocusBand is how sharp what stands at one parallax is in the left picture.
type FocusBand struct {
	Parallax float64 `json:"parallax"` // % of picture width
	// Sharp is the largest change from one pixel to the next over all the change
	// about an edge: some 0.5 for the sharpest that pixels show.
	Sharp float64 `json:"sharp"`
}

// FocusBands returns the sharpness by parallax from the nearest to the farthest,
// or none where it cannot be told.
func (p *Pair) FocusBands() []FocusBand {
	m, _ := p.disparity()
	if m == nil || len(m.claimed()) == 0 {
		return nil
	}
	var bands []FocusBand
	for _, b := range m.focusProfile(p.sharpness(m.width, m.height), 100/float64(p.left().full.width)) {
		if b.n > 0 {
			bands = append(bands, FocusBand{Parallax: rounded(b.parallax, 3), Sharp: rounded(b.sharp, 3)})
		}
	}
	return bands
}
