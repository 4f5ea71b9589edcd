package metrics

import (
	"math"
	"slices"
)

// quantile returns the q-quantile of values, 0 ≤ q ≤ 1, interpolated between
// the neighbouring order statistics. It sorts values; there must be one at least.
func quantile(values []float64, q float64) float64 {
	slices.Sort(values)
	at := q * float64(len(values)-1)
	i := min(int(at), len(values)-1)
	j := min(i+1, len(values)-1)
	return values[i] + (at-math.Floor(at))*(values[j]-values[i])
}

// median returns the median of values, which it sorts.
func median(values []float64) float64 { return quantile(values, 0.5) }
