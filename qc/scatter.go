package qc

import (
	"math"
	"nightpair/metrics/stat"
)

// spread returns the median distance from the centre, scaled to the standard
// deviation of a normal distribution.
func spread(values []float64, centre float64) float64 {
	distances := make([]float64, len(values))
	for i, v := range values {
		distances[i] = math.Abs(v - centre)
	}
	return stat.MADToSigma * stat.Quantile(distances, 0.5)
}
