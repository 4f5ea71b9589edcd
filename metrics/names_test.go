package metrics

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Every metric is called by its constant and every constant names a metric.
func TestNames(t *testing.T) {
	constants := []string{
		VerticalOffset, Roll, Zoom, Keystone, TiltKeystone, HeightStep, HeightSpread, VerticalWorst, VerticalRest,
		NearParallax, FarParallax, FocusParallax, EdgeViolation,
		Exposure, RedBalance, BlueBalance, BlackLift, ColourDifference,
		Softness, SoftnessNear, SoftnessFar, FocusLeft, FocusRight,
		Rivalry, Blank, Clipping, Noise, Combing, Overlay, SyncOffset, ReadoutSkew,
	}
	var names []string
	for _, m := range All {
		names = append(names, m.Name)
	}
	require.Equal(t, names, constants)
}
