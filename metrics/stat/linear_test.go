package stat

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestSolve2(t *testing.T) {
	// 2x + 3y = 8 and x − y = −1 meet at (1, 2).
	x, y, det := Solve2(2, 3, 8, 1, -1, -1)
	require.Equal(t, []float64{1, 2, -5}, []float64{x, y, det})
	_, _, det = Solve2(1, 2, 3, 2, 4, 5)
	require.Zero(t, det, "parallel lines")
}
