package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var blank = Metric{
	Name: "blank", Unit: "% of picture area", Decimals: 1,
	Doc:   "Share of the picture where the right eye shows nothing, black or one flat tone, though the left eye shows something there; 100 for a black picture. Positive: the right eye's picture is missing; negative: the left's.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 2,
	Measure: func(p *Pair) stat.Measurement {
		if reason := p.unlikeSize(); reason != "" {
			return stat.Missing(reason)
		}
		left, right := light.NewBlocks(p.Left, p.left().Full), light.NewBlocks(p.Right, p.right().Full)
		if left.Width == 0 || left.Height == 0 {
			return stat.Missing("too small a picture")
		}
		leftLetters, rightLetters := p.lettering()
		l, r := left.MissingShare(right, leftLetters), right.MissingShare(left, rightLetters)
		return stat.Measured(100*(r-l), math.Hypot(blankSE, blankEdges*100*max(r, l)))
	},
}

// unlikeSize returns a reason when the eyes' pictures can't be laid on one another.
func (p *Pair) unlikeSize() string {
	if p.Left.Width() != p.Right.Width() || p.Left.Height() != p.Right.Height() {
		return "the eyes' pictures differ in size"
	}
	return ""
}

// blankSE is the least standard error, in % of the picture, and blankEdges the
// uncertain part of what is empty.
const blankSE, blankEdges = 0.1, 0.03
