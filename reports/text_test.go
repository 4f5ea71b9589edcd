package reports

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/qc/judge"
)

func TestNumbersForReaders(t *testing.T) {
	offset := metrics.Metric{Decimals: 2, Swap: metrics.SwapNegate}
	size := metrics.Metric{Decimals: 2}
	require.Equal(t, "+1.50", format(offset, 1.5))
	require.Equal(t, "−1.50", format(offset, -1.5))
	require.Equal(t, "0.00", format(offset, 0.001), "no sign on what rounds to nothing")
	require.Equal(t, "0.00", format(offset, -0.001))
	require.Equal(t, "1.50", format(size, 1.5), "what cannot be negative needs no sign")

	require.Equal(t, "0.04", uncertain(0.02, 2), "two standard errors")
	require.Equal(t, "0.0003", uncertain(0.00015, 2), "never rounded to certainty")
	require.Equal(t, "", uncertain(0, 2))

	require.Equal(t, "0:00", clock(0, 0))
	require.Equal(t, "1:00", clock(59.6, 0))
	require.Equal(t, "2:05.5", clock(125.46, 1))
	require.Equal(t, "59.9 s", span(59.9))
	require.Equal(t, "1:00 min", span(59.97))
}

func TestLimitLabels(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		low, high       float64
		within, outside string
	}{
		{-inf, 1.5, "at most 1.5", "above 1.5"},
		{-2.94512, inf, "at least −2.945", "below −2.945"},
		{-0.7, 0.7, "−0.7 to 0.7", "outside −0.7 to 0.7"},
		{0, 0, "exactly 0", "outside 0 to 0"},
		{-inf, inf, "", ""},
	} {
		l := judge.Limit{Low: c.low, High: c.high}
		require.Equal(t, c.within, within(l))
		require.Equal(t, c.outside, outside(l))
	}
}

func TestVisible(t *testing.T) {
	require.Equal(t, "a␊b␀␡", visible("a\nb\x00\x7f"))
	require.Equal(t, "\uFFFDabc\uFFFD", visible("\u202eabc\x85"[:3]+"abc\u0085"))
	require.Equal(t, "x\uFFFD", visible("x\xff"))
	require.Equal(t, "Größe 写真 עברית", visible("Größe 写真 עברית"))
}
