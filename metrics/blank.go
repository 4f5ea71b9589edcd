package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var blank = Metric{
	Name: "blank", Unit: "% of picture area", Decimals: 1,
	Doc:   "Share of the picture where the right eye shows nothing, black or one flat tone, though the left eye shows something there; 100 for a black picture. Positive: the right eye's picture is missing; negative: the left's.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: oneEyeRevision,
	Measure: func(p *Pair) Measurement {
		if reason := p.differentSize(); reason != "" {
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

// blankSE is the least standard error, in % of the picture, and blankEdges the relative
// standard error of a large area.
const blankSE, blankEdges = 0.1, 0.03
