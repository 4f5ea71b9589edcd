package number

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestNumbersForReaders(t *testing.T) {
	for _, c := range []struct {
		v             float64
		decimals      int
		plain, signed string
		digits        string
	}{
		{1.5, 2, "1.50", "+1.50", "1.5"},
		{-1.5, 2, "−1.50", "−1.50", "−1.5"},
		{0.001, 2, "0.00", "0.00", "0.001"},
		{-0.001, 2, "0.00", "0.00", "−0.001"},
		{0, 0, "0", "0", "0"},
		{math.Copysign(0, -1), 1, "0.0", "0.0", "0"},
		{1234.5, 0, "1234", "+1234", "1234"},
		{0.0123456, 4, "0.0123", "+0.0123", "0.0123"},
		{2e-9, 0, "0", "0", "0"},
	} {
		require.Equal(t, c.plain, Plain(c.v, c.decimals), "%v", c.v)
		require.Equal(t, c.signed, Signed(c.v, c.decimals), "%v", c.v)
		require.Equal(t, c.digits, Digits(c.v), "%v", c.v)
	}
	require.Equal(t, "1 frame", Counted(1, "frame", "frames"))
	require.Equal(t, "0 frames", Counted(0, "frame", "frames"))
}

func TestNumbersForScripts(t *testing.T) {
	for _, c := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{0, 3, "0"}, {math.Copysign(0, -1), 3, "0"}, {-0.0004, 3, "0"}, {-0.0006, 3, "-0.001"},
		{1.5, 3, "1.5"}, {1234567.891, 2, "1234567.89"}, {0.1 + 0.2, 5, "0.3"}, {2e-7, 7, "0.0000002"}, {1e21, 0, "1000000000000000000000"},
	} {
		require.Equal(t, c.want, Cell(c.v, c.decimals), "%v with %d decimals", c.v, c.decimals)
	}
	require.Equal(t, "0", CellSE(0, 3))
	require.Equal(t, "0.001", CellSE(0.0006, 3))
	require.Equal(t, "0.00012", CellSE(0.0001234, 3))
	require.Equal(t, "-1.50", Fixed(-1.5, 2))
	require.Equal(t, "0.00", Fixed(-0.001, 2))
}
