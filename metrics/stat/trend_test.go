package stat

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheilSenAndMannKendall(t *testing.T) {
	// Made with SciPy 1.10.1 (theilslopes, 95 %) and by hand for the test.
	x := []float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}
	y := []float64{0, .11, .19, .32, .38, 5.0, .61, .70, .79, .92}
	slope, se, ok := TheilSen(x, y)
	require.True(t, ok)
	require.InDelta(t, 0.1, slope, 5e-5)
	require.Positive(t, se)
	require.InDelta(t, 125, kendallVariance(y), 1e-9)
	z, p := MannKendall(y)
	require.InDelta(t, 3.2199, z, 5e-5)
	require.InDelta(t, 0.00128, p, 5e-6)

	var slopes []float64
	for i := range x {
		for j := range i {
			slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
		}
	}
	slices.Sort(slopes)
	low, high := senInterval(slopes, y, 1.959964)
	require.InDelta(t, 0.0950, low, 5e-5)
	require.InDelta(t, 0.1067, high, 5e-5)

	// Ten values that rise strictly: S = 45, Z = 3.9355.
	z, _ = MannKendall(x)
	require.InDelta(t, 3.9355, z, 5e-5)
	z, p = MannKendall([]float64{1, 1, 1, 1})
	require.Zero(t, z)
	require.InDelta(t, 1, p, 1e-12)

	_, _, ok = TheilSen([]float64{1, 1}, []float64{2, 3})
	require.False(t, ok)
}
