package picture

import (
	"math"
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

func TestLight(t *testing.T) {
	tests := []struct {
		name      string
		transfer  Transfer
		v, light  float64
		tolerance float64
	}{
		// Rec. ITU-R BT.709's curve takes 0.18 to 0.4090077; BT.1886 shows that as
		// 0.1169919 (Colour Science library documentation).
		{"BT.1886", BT1886, 0.4090077, 0.1169919, 1e-6},
		{"not said", TransferUnspecified, 0.4090077, 0.1169919, 1e-6},
		// IEC 61966-2-1: 0.5 is 0.2140411 (from memory).
		{"sRGB", SRGB, 0.5, 0.2140411, 1e-6},
		{"sRGB near black", SRGB, 0.04, 0.04 / 12.92, 1e-12},
		// SMPTE ST 2084 (from memory): 100 cd/m² is 0.5080784, full scale 10000.
		{"PQ at 100", PQ, 0.5080784, 100.0 / 203, 1e-5},
		{"PQ at full scale", PQ, 1, 10000.0 / 203, 1e-9},
		{"PQ at black", PQ, 0, 0, 1e-12},
		// Rec. ITU-R BT.2100: full scale of HLG is the display's peak.
		{"HLG at full scale", HLG, 1, 1000.0 / 203, 1e-4},
		{"HLG at half", HLG, 0.5, 1000.0 / 203 * math.Pow(1.0/12, 1.2), 1e-9},
		{"below black", BT1886, -0.1, 0, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			require.InDelta(t, tt.light, tt.transfer.Light(tt.v), tt.tolerance)
		})
	}
	for v := 0.0; v <= 1; v += 1.0 / 64 {
		require.InDelta(t, v, encodeSRGB(SRGB.Light(v)), 1e-4, "there and back")
	}
}
