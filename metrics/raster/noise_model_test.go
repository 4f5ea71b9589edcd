package raster

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestLowerBound(t *testing.T) {
	slope, base := lowerBound([][2]float64{{0.1, 1.2}, {0.2, 1.4}, {0.3, 3}, {0.4, 1.8}})
	require.InDelta(t, 2, slope, 1e-9)
	require.InDelta(t, 1, base, 1e-9)
	slope, base = lowerBound([][2]float64{{0.1, 2}, {0.5, 1}})
	require.InDelta(t, 0, slope, 1e-9, "noise that falls with the light is texture")
	require.InDelta(t, 1, base, 1e-9)
	slope, base = lowerBound(nil)
	require.Zero(t, slope+base)
}
