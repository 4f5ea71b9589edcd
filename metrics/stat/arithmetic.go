package stat

import "math"

// Sq returns the square of v.
func Sq(v float64) float64 { return v * v }

// Abs returns the absolute value of n.
func Abs(n int) int { return max(n, -n) }

// Rounded returns v rounded to so many decimals. It keeps records short: digits far
// below the standard error say nothing.
func Rounded(v float64, decimals int) float64 {
	k := math.Pow10(decimals)
	return math.Round(v*k) / k
}
