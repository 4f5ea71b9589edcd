package stat

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestSorted(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	values := []float32{0, -1, 1, float32(math.Inf(1)), float32(math.Inf(-1)), 1e-30, -1e-30, 3, 3}
	for range 1000 {
		values = append(values, float32(200*rng.NormFloat64()))
	}
	var want []float64
	for _, v := range values {
		want = append(want, float64(v))
	}
	slices.Sort(want)
	require.Equal(t, want, Sorted(values))
	require.Empty(t, Sorted(nil))
}
