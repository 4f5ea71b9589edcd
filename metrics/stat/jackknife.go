package stat

import "math"

// Jackknife returns the standard error of an estimate by what it becomes when one
// of the pieces of the evidence at a time is left out (J. Tukey, 1958; from memory).
func Jackknife(without []float64) float64 {
	var sum, square float64
	for _, v := range without {
		sum += v - without[0]
		square += Sq(v - without[0])
	}
	n := float64(len(without))
	return math.Sqrt((n - 1) * max(square/n-Sq(sum/n), 0))
}
