package metrics

import "math"

// rounded keeps a record short: digits that no measurement fills say nothing.
func rounded(v float64, decimals int) float64 {
	k := math.Pow10(decimals)
	return math.Round(v*k) / k
}
