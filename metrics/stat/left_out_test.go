package stat

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// A mean over parts whose values share an error is as uncertain as the parts say of each other,
// however many values there are; for the mean of one column the covariance is that of Jackknife.
func TestLeftOutKeepsSharedErrors(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	const parts, each = 12, 50
	var said, off float64
	const rounds = 300
	for range rounds {
		r := Regression{Columns: 1, Coef: make([]float64, 1), Prior: []float64{math.Inf(1)}, Floor: 1e-6}
		var part []int
		for k := range parts {
			shared := random.NormFloat64()
			for range each {
				r.Rows, r.Y, r.Base = append(r.Rows, 1), append(r.Y, shared+0.1*random.NormFloat64()), append(r.Base, 1)
				part = append(part, k)
			}
		}
		r.Scale, r.W = 1, r.Base // plain least squares, not the biweight
		require.True(t, r.solve())
		said += r.LeftOut(part, parts).At(0, 0) / rounds
		off += Sq(r.Coef[0]) / rounds
	}
	require.InEpsilon(t, off, said, 0.3)

	values := []float64{1, 2, 4, 9}
	mean := Regression{Columns: 1, Coef: make([]float64, 1), Rows: []float64{1, 1, 1, 1}, Y: values, W: []float64{1, 1, 1, 1}, Prior: []float64{math.Inf(1)}}
	require.True(t, mean.solve())
	var without []float64
	for _, v := range values {
		without = append(without, (16-v)/3)
	}
	require.InDelta(t, Sq(Jackknife(without)), mean.LeftOut([]int{0, 1, 2, 3}, 4).At(0, 0), 1e-12)
}
