package stat

import "math"

// Jackknife returns the standard error of an estimate from what the estimate becomes
// when one piece of the evidence after the other is left out (J. W. Tukey, "Bias and
// confidence in not-quite large samples", Annals of Mathematical Statistics 29(2),
// 1958; from memory). There must be at least one value; of one alone the result is 0.
func Jackknife(without []float64) float64 {
	var sum, square float64
	for _, v := range without {
		sum += v - without[0]
		square += Sq(v - without[0])
	}
	n := float64(len(without))
	return math.Sqrt((n - 1) * max(square/n-Sq(sum/n), 0))
}
