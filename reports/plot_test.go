package reports

import (
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/record"
)

func TestPlot(t *testing.T) {
	m := metrics.Metric{Name: "roll", Unit: "°", Decimals: 3, Swap: metrics.SwapNegate}
	c := &clip{Record: &record.Record{Header: record.Header{Left: record.Source{Frames: 100, RateNum: 25, RateDen: 1}}}}
	for i, v := range []stat.Measurement{stat.Measured(0.1, 0.05), stat.Measured(0.2, 0.05), stat.Missing("too dark"),
		stat.Missing("too dark"), stat.Measured(0.4, 0.05)} {
		c.Moments = append(c.Moments, record.Moment{Frame: 20 * i, Time: time.Duration(i) * 800 * time.Millisecond,
			Values: map[string]stat.Measurement{"roll": v}})
	}
	limits := judge.Limits{
		limit("roll", judge.Median, -0.5, 0.5, judge.Warn, ""),
		limit("roll", judge.Top, math.Inf(-1), 0.5, judge.Warn, ""),
		limit("roll", judge.Median, -100, 100, judge.Fail, ""),
		limit("roll", judge.Drift, -0.3, 0.3, judge.Warn, ""),
		limit("zoom", judge.Median, -0.31, 0.31, judge.Warn, ""),
	}
	p, ok := newPlot(c, m, limits)
	require.True(t, ok)
	require.Equal(t, "warn outside −0.5 to 0.5, warn above 0.5, fail outside −100 to 100", p.Limits)
	require.Equal(t, "too dark (2 moments)", p.Missing)
	require.Equal(t, "roll over time: +0.100 to +0.400 ° in 3 moments, 2 not measured, warn 0.5, warn −0.5", p.Summary)

	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return v
	}
	// A line joins what was measured one after another and stops at a gap.
	require.Len(t, p.Lines, 1)
	require.Len(t, strings.Fields(p.Lines[0]), 2)
	require.Len(t, p.Points, 3)
	require.Len(t, p.Gaps, 2)
	require.Equal(t, "0:01.60: too dark", p.Gaps[0].Text)
	require.Equal(t, "0:00.80: +0.200 ± 0.100 °", p.Points[1].Text)

	// 100 frames at 25 per second fill the width, so 3.2 s lie at four fifths.
	require.InDelta(t, p.Left+0.8*(p.Right-p.Left), number(p.Points[2].X), 0.1)
	// Limits and points lie on one scale: 0.1 is a fifth of the way to 0.5.
	zero := (number(p.Bounds[0].At) + number(p.Bounds[1].At)) / 2
	unit := zero - number(p.Bounds[0].At)
	require.Positive(t, unit, "up is more")
	require.InDelta(t, zero-0.2*unit, number(p.Points[0].Y), 0.2)
	require.InDelta(t, zero-0.0*unit, number(p.Points[0].Low), 0.2)
	require.InDelta(t, zero-0.4*unit, number(p.Points[0].High), 0.2)
	for _, b := range p.Bounds {
		require.GreaterOrEqual(t, number(b.From), p.Top)
		require.LessOrEqual(t, number(b.From)+number(b.Extent), p.Bottom+0.1)
	}

	_, ok = newPlot(c, metrics.Metric{Name: "zoom"}, limits)
	require.False(t, ok, "no values, no plot")
}

// A limit that the values have passed stays on the plot.
func TestPlotShowsPassedLimits(t *testing.T) {
	m := metrics.Metric{Name: "far_parallax", Decimals: 2, Ideal: math.NaN()}
	c := &clip{Record: &record.Record{Moments: []record.Moment{
		{Values: map[string]stat.Measurement{m.Name: stat.Measured(3, 0.01)}},
		{Time: time.Second, Values: map[string]stat.Measurement{m.Name: stat.Measured(3.1, 0.01)}},
	}}}
	p, ok := newPlot(c, m, []judge.Limit{
		limit(m.Name, judge.Top, math.Inf(-1), 0.5, judge.Warn, ""), limit(m.Name, judge.Top, math.Inf(-1), 1, judge.Fail, ""),
	})
	require.True(t, ok)
	require.Len(t, p.Bounds, 2)
}

func TestSteps(t *testing.T) {
	for _, c := range []struct{ v, want float64 }{{1, 1}, {1.01, 2}, {3, 5}, {5.1, 10}, {0.07, 0.1}, {0.02, 0.02}, {230, 500}} {
		require.InEpsilon(t, c.want, roundStep(c.v), 1e-12, "%v", c.v)
	}
	for _, c := range []struct {
		duration, want float64
		decimals       int
	}{{0.4, 0.1, 1}, {3, 0.5, 1}, {5, 1, 0}, {61, 15, 0}, {3600, 600, 0}, {36000, 7200, 0}} {
		step, decimals := timeStep(c.duration)
		require.Equal(t, c.want, step, "%v s", c.duration)
		require.Equal(t, c.decimals, decimals)
	}
}
