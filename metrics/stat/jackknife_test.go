package stat

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Of a mean, the jackknife gives the usual standard error s/√n.
func TestJackknifeOfMean(t *testing.T) {
	values := []float64{3, 1, 4, 1, 5, 9, 2, 6}
	n := float64(len(values))
	var sum, square float64
	for _, v := range values {
		sum += v
	}
	without := make([]float64, len(values))
	for i, v := range values {
		without[i] = (sum - v) / (n - 1)
		square += Sq(v - sum/n)
	}
	require.InDelta(t, math.Sqrt(square/(n-1)/n), Jackknife(without), 1e-12)
	require.Zero(t, Jackknife([]float64{2}))
}
