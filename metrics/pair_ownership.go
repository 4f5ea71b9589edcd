package metrics

// Ownership looks at the half-hidden strips of both pictures.
func (p *Pair) Ownership() (Ownership, string) {
	m, reason := p.disparity()
	if m == nil {
		return Ownership{}, reason
	}
	g, _ := p.geometry()
	return m.ownership(g, newLooks(p.Left, p.left().full), newLooks(p.Right, p.right().full), p.right().full), ""
}
