package stat

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestMADToSigma(t *testing.T) {
	// Half of a Gaussian lies within Φ⁻¹(¾) = √2·erf⁻¹(½) standard deviations.
	require.InDelta(t, 1/(math.Sqrt2*math.Erfinv(0.5)), MADToSigma, 5e-5)
}
