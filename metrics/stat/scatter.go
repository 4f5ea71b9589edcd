package stat

import "math"

// Scatter returns the median distance from the centre, scaled to the standard
// deviation of a normal distribution.
func Scatter(values []float64, centre float64) float64 {
	distances := make([]float64, len(values))
	for i, v := range values {
		distances[i] = math.Abs(v - centre)
	}
	return MADToSigma * Quantile(distances, 0.5)
}
