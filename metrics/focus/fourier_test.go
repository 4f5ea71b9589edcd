package focus

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"
)

// Against gonum's transform.
func TestFourierTransform(t *testing.T) {
	for n := 4; n <= 128; n *= 2 {
		v := make([]complex128, n)
		for i := range v {
			v[i] = complex(math.Sin(float64(i*i)), math.Cos(float64(7*i)))
		}
		want := fourier.NewCmplxFFT(n).Coefficients(nil, v)
		newFourierTransform(n).run(v)
		for i := range v {
			require.Less(t, cmplx.Abs(v[i]-want[i]), 1e-12, "%d of %d", i, n)
		}
	}
}
