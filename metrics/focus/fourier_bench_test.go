package focus

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

// BenchmarkFourierTransform holds the package's transform against both of gonum's, at
// the lengths of a patch's rows and columns.
func BenchmarkFourierTransform(b *testing.B) {
	for _, n := range []int{32, 64} {
		v := make([]complex128, n)
		for i := range v {
			v[i] = complex(math.Sin(float64(i*i)), math.Cos(float64(7*i)))
		}
		work := make([]complex128, n)
		own := newFourierTransform(n)
		b.Run(fmt.Sprintf("own/%d", n), func(b *testing.B) {
			for range b.N {
				copy(work, v)
				own.run(work)
			}
		})
		b.Run(fmt.Sprintf("gonum radix 2/%d", n), func(b *testing.B) {
			for range b.N {
				copy(work, v)
				fourier.CoefficientsRadix2(work)
			}
		})
		mixed := fourier.NewCmplxFFT(n)
		b.Run(fmt.Sprintf("gonum mixed radix/%d", n), func(b *testing.B) {
			for range b.N {
				copy(work, v)
				mixed.Coefficients(work, work)
			}
		})
	}
}
