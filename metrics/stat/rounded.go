package stat

import "math"

// Rounded keeps a record short: digits that no measurement fills say nothing.
func Rounded(v float64, decimals int) float64 {
	k := math.Pow10(decimals)
	return math.Round(v*k) / k
}
