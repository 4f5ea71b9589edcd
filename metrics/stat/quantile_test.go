package stat

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestMedianIsThatOfSorting(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for n := 1; n < 200; n++ {
		values := make([]float64, n)
		for i := range values {
			values[i] = float64(rng.IntN(n)) // with ties
		}
		switch n % 3 {
		case 1:
			slices.Sort(values)
		case 2:
			slices.Sort(values)
			slices.Reverse(values)
		}
		sorted := slices.Clone(values)
		for _, q := range []float64{0, 0.3, 0.85, 1} {
			require.Equal(t, Quantile(sorted, q), SelectQuantile(slices.Clone(values), q), n)
		}
		require.Equal(t, Quantile(sorted, 0.5), Median(values), n)
		require.ElementsMatch(t, sorted, values)
	}
}

func TestQuantile(t *testing.T) {
	// Between order statistics as numpy.quantile does by default.
	require.Equal(t, 1.75, Quantile([]float64{4, 1, 3, 2}, 0.25))
	require.Equal(t, 1.0, Quantile([]float64{1}, 0.9))
	require.Equal(t, 4.0, Quantile([]float64{4, 1, 3, 2}, 1))
}
