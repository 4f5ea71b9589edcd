package metrics

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

var verticalWorst = Metric{
	Name: "vertical_worst", Unit: "% of picture height", Decimals: 3,
	Doc:   "95th percentile over the picture of the size of the vertical disparity, fitted terms and residual together. Never negative.",
	Ideal: 0, Swap: SwapKeep, Revision: geometryRevision,
	Measure: func(p *Pair) Measurement {
		g, reason := p.geometry()
		if g == nil {
			return stat.Missing(reason)
		}
		residual := g.ResidualDisparity()
		if !residual.OK() {
			return stat.Missing(residual.Missing)
		}
		spots := g.Field(p.halfWidth())
		if len(spots) == 0 {
			return stat.Missing("no part of the picture lies inside both eyes' pictures")
		}
		sizes := make([]float64, len(spots))
		for i, f := range spots {
			sizes[i] = math.Hypot(100*f.Disparity, residual.Value)
		}
		sorted := slices.Clone(sizes)
		worst := stat.Quantile(sorted, 0.95)
		// The standard error is that of the field where its size is nearest to that
		// percentile, with that of the residual and of the percentile itself.
		at := 0
		for i, s := range sizes {
			if math.Abs(s-worst) < math.Abs(sizes[at]-worst) {
				at = i
			}
		}
		between := (stat.Quantile(sorted, 0.96) - stat.Quantile(sorted, 0.94)) / 2
		return stat.Measured(worst, math.Hypot(math.Hypot(100*g.SE(spots[at].Factors), residual.SE), between))
	},
}
