package metrics

// RivalryMap is how much of each part of the left eye's picture has rivalry, in % of the
// part: RivalryColumns by RivalryRows parts, row by row. It is nil where there is none or
// it is not known.
type RivalryMap []byte

// The parts of a RivalryMap; of a picture in 16:9 they are squares.
const (
	RivalryColumns = 32
	RivalryRows    = 18
)

// RivalryMap returns where the places are that the metric rivalry counts.
func (p *Pair) RivalryMap() RivalryMap {
	m, _ := p.rivalry()
	if m == nil || m.Share == 0 {
		return nil
	}
	counts := make([]int, RivalryColumns*RivalryRows)
	sizes := make([]int, len(counts))
	for i, set := range m.Patch {
		at := i/m.Width*RivalryRows/m.Height*RivalryColumns + i%m.Width*RivalryColumns/m.Width
		sizes[at]++
		if set {
			counts[at]++
		}
	}
	out := make(RivalryMap, len(counts))
	for i, n := range counts {
		out[i] = byte((100*n + sizes[i]/2) / max(sizes[i], 1))
	}
	return out
}
