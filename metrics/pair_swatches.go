package metrics

import "nightpair/metrics/light"

// Swatches returns places spread evenly over what both eyes show and neither
// clips, not more than wanted.
func (p *Pair) Swatches(most int) light.Swatches {
	s := light.Swatches{Transfer: p.Left.Colour.Transfer, Primaries: p.Left.Colour.Primaries}
	spots := p.grade().spots
	if len(spots) == 0 || p.Left.Colour.Primaries != p.Right.Colour.Primaries {
		return s
	}
	var fine []*light.Sample
	for i := range spots {
		if !spots[i].Clipped {
			fine = append(fine, &spots[i])
		}
	}
	n := min(most, len(fine))
	for k := range n {
		spot := fine[k*len(fine)/n]
		s.Places = append(s.Places, light.Swatch{Left: spot.Left, Right: spot.Right})
	}
	return s
}
