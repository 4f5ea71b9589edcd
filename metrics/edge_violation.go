package metrics

import "nightpair/metrics/stat"

var edgeViolation = Metric{
	Name: "edge_violation", Unit: "% of picture height", Decimals: 1,
	Doc: "Window violation: how much of a side edge of the picture crops something that stands in front of the screen, at the worse of the two edges. " +
		"Counted as it will be once the right picture is aligned. Never negative. The value with the eyes exchanged cannot be derived from it.",
	Ideal: 0, Swap: SwapKeep, Conditional: true, Revision: edgeViolationRevision,
	Measure: func(p *Pair) Measurement {
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
