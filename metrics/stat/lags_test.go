package stat_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/stat"
)

// Every lag has the sum that adding up the products gives, of one pair of sequences and of two
// together, whatever their lengths.
func TestLags(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 3))
	drawn := func(n int) []float64 {
		list := make([]float64, n)
		for i := range list {
			list[i] = rng.NormFloat64()
		}
		return list
	}
	for _, lengths := range [][2]int{{1, 1}, {7, 20}, {20, 7}, {32, 32}} {
		transform := stat.NewLags(lengths[0] + lengths[1])
		var product []complex128
		want := map[int]float64{}
		for range 2 {
			left, right := drawn(lengths[0]), drawn(lengths[1])
			product = transform.AddProduct(product, transform.Spectrum(nil, left), transform.Spectrum(nil, right))
			for i, l := range left {
				for j, r := range right {
					want[j-i] += l * r
				}
			}
		}
		at := transform.Correlation(product)
		for lag := 1 - lengths[0]; lag < lengths[1]; lag++ {
			require.InDelta(t, want[lag], at(lag), 1e-12, "%v at %d", lengths, lag)
		}
	}
}
