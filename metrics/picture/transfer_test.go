package picture

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Writing light undoes reading it, for every curve; TestLight holds the reading
// against published values.
func TestEncode(t *testing.T) {
	for _, transfer := range []Transfer{TransferUnspecified, BT1886, SRGB, Linear, PQ, HLG, LogCurve} {
		for v := 0.0; v <= 1; v += 1.0 / 64 {
			require.InDelta(t, v, transfer.Encode(transfer.Light(v)), 1e-4, "curve %d", transfer)
		}
	}
}
