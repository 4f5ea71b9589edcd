package picture

import (
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// The matrices between primaries, against the chromaticities they stand for
// (Rec. ITU-R BT.709-6, BT.2020-2, SMPTE EG 432-1; white point D65).
func TestPrimaries(t *testing.T) {
	toXYZ := func(xy [3][2]float64) *mat.Dense {
		const wx, wy = 0.3127, 0.3290
		columns := mat.NewDense(3, 3, nil)
		for i, c := range xy {
			columns.SetCol(i, []float64{c[0] / c[1], 1, (1 - c[0] - c[1]) / c[1]})
		}
		var scale mat.VecDense
		require.NoError(t, scale.SolveVec(columns, mat.NewVecDense(3, []float64{wx / wy, 1, (1 - wx - wy) / wy})))
		var out mat.Dense
		out.Mul(columns, mat.NewDiagDense(3, scale.RawVector().Data))
		return &out
	}
	bt709 := toXYZ([3][2]float64{{0.640, 0.330}, {0.300, 0.600}, {0.150, 0.060}})
	for primaries, xy := range map[Primaries][3][2]float64{
		PrimariesUnspecified: {{0.640, 0.330}, {0.300, 0.600}, {0.150, 0.060}},
		PrimariesBT709:       {{0.640, 0.330}, {0.300, 0.600}, {0.150, 0.060}},
		PrimariesBT2020:      {{0.708, 0.292}, {0.170, 0.797}, {0.131, 0.046}},
		PrimariesP3:          {{0.680, 0.320}, {0.265, 0.690}, {0.150, 0.060}},
	} {
		var want mat.Dense
		require.NoError(t, want.Solve(bt709, toXYZ(xy)))
		for y, row := range primaries.ToBT709() {
			for x, v := range row {
				require.InDelta(t, want.At(y, x), v, 2e-5, "primaries %d, row %d, column %d", primaries, y, x)
			}
		}
	}
}
