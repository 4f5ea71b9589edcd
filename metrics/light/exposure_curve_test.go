package light

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
)

// A gain of light does to a signal what reading, multiplying and writing it does.
func TestExposed(t *testing.T) {
	for _, transfer := range []picture.Transfer{picture.TransferUnspecified, picture.BT1886, picture.SRGB, picture.Linear, picture.PQ, picture.HLG, picture.LogCurve} {
		for _, stops := range []float64{-1.5, 0.7} {
			e := NewExposureCurve(transfer, stops)
			want := transfer.Encode(e.gain * transfer.Light(0.5))
			require.InDelta(t, want, e.Apply(0.5), 1e-9, "curve %d", transfer)
		}
	}
}
