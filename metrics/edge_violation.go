package metrics

import (
	"nightpair/metrics/depth"
	"nightpair/metrics/stat"
)

var edgeViolation = Metric{
	Name: "edge_violation", Unit: "% of picture height", Decimals: 1,
	Doc: "How much of a side edge of the picture cuts something that stands in front of the screen: the worse of the two edges. " +
		"Counted as it will be with the right picture in line. Never negative. What it is with the eyes exchanged cannot be told from it.",
	Ideal: 0, Swap: SwapKeep, Conditional: true, Revision: 4,
	Measure: func(p *Pair) stat.Measurement {
		e, reason := p.edges()
		if reason != "" {
			return stat.Missing(reason)
		}
		share, se, known := e.Worst()
		if !known {
			return stat.Missing("too little at the side edges tells its parallax")
		}
		return stat.Measured(100*share, 100*se)
	},
}

// EdgeCuts returns what the edges of the picture cut, or the reason why that is
// not known: first the left and the right edge, each from its top, then the top
// and the bottom, which matter less.
func (p *Pair) EdgeCuts() (cuts []depth.EdgeViolation, reason string) {
	e, reason := p.edges()
	if reason != "" {
		return nil, reason
	}
	return e.Violations(), ""
}

func (p *Pair) edges() (e depth.Edges, reason string) {
	m, reason := p.disparity()
	if m == nil {
		return e, reason
	}
	g, _ := p.geometry()
	return depth.FindEdges(m, g, p.left().Full, p.right().Full, p.left().Noise), ""
}
