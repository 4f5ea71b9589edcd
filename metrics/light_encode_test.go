package metrics

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Writing light undoes reading it, for every curve; TestLight holds the reading
// against published values.
func TestEncode(t *testing.T) {
	for _, transfer := range []Transfer{TransferUnspecified, BT1886, SRGB, Linear, PQ, HLG, LogCurve} {
		for v := 0.0; v <= 1; v += 1.0 / 64 {
			require.InDelta(t, v, transfer.encode(transfer.light(v)), 1e-4, "curve %d", transfer)
		}
		for _, stops := range []float64{-1.5, 0.7} {
			e := exposedBy(transfer, stops)
			want := transfer.encode(e.gain * transfer.light(0.5))
			require.InDelta(t, want, e.of(0.5), 1e-9, "curve %d", transfer)
		}
	}
}

func TestLowerLine(t *testing.T) {
	slope, base := lowerLine([][2]float64{{0.1, 1.2}, {0.2, 1.4}, {0.3, 3}, {0.4, 1.8}})
	require.InDelta(t, 2, slope, 1e-9)
	require.InDelta(t, 1, base, 1e-9)
	slope, base = lowerLine([][2]float64{{0.1, 2}, {0.5, 1}})
	require.InDelta(t, 0, slope, 1e-9, "noise that falls with the light is texture")
	require.InDelta(t, 1, base, 1e-9)
	slope, base = lowerLine(nil)
	require.Zero(t, slope+base)
}
