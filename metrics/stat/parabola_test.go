package stat

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestParabolaPeak(t *testing.T) {
	for _, peak := range []float64{-0.5, -0.2, 0, 0.4} {
		at := func(x float64) float64 { return 7 - 3*Sq(x-peak) }
		require.InDelta(t, peak, ParabolaPeak(at(-1), at(0), at(1)), 1e-12)
	}
	require.Zero(t, ParabolaPeak(1, 1, 1), "flat")
	require.Zero(t, ParabolaPeak(2, 1, 2), "a minimum")
	require.Equal(t, 0.5, ParabolaPeak(0, 2, 3), "beyond the middle value")
}
