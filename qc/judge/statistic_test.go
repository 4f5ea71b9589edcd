package judge

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/series"
)

func TestFewestForTrendIsTheFewestThatCanTell(t *testing.T) {
	rising := make([]float64, series.MinForTrend)
	for i := range rising {
		rising[i] = float64(i)
	}
	_, p := stat.MannKendall(rising)
	require.Less(t, p, series.TrendChance)
	_, p = stat.MannKendall(rising[1:])
	require.GreaterOrEqual(t, p, series.TrendChance)
}

// recordOf returns a record with the given measurements of each metric, a
// second apart.
func recordOf(values map[string][]stat.Measurement) record.Record {
	r := record.Record{Header: record.Header{
		Clip: record.Clip{Name: "clip"}, EyeWidth: 1920, EyeHeight: 1080,
		Left:  record.Source{RateNum: 24, RateDen: 1, PixelAspect: 1, Width: 1920, Height: 1080, Timecode: "01:00:00:00"},
		Setup: record.Setup{Packing: record.Separate, Order: record.AsNamed},
	}, Trailer: record.Trailer{Done: true}}
	n := 0
	for _, v := range values {
		n = max(n, len(v))
	}
	r.Header.Left.Frames = 24*(n-1) + 1
	r.Header.Right = r.Header.Left
	r.Header.Planned = n
	for i := range n {
		m := record.Moment{
			Frame: 24 * i, Time: time.Duration(i) * time.Second,
			Timecode: record.Timecode("01:00:00:00", 24, 1, 24*i),
			Values:   map[string]stat.Measurement{},
		}
		for name, v := range values {
			if i < len(v) {
				m.Values[name] = v[i]
			}
		}
		r.Moments = append(r.Moments, m)
	}
	return r
}

// valuesWith returns measurements with the same standard error.
func valuesWith(se float64, values ...float64) []stat.Measurement {
	all := make([]stat.Measurement, len(values))
	for i, v := range values {
		all[i] = stat.Measured(v, se)
	}
	return all
}

// steady returns n equal measurements.
func steady(n int, value, se float64) []stat.Measurement {
	return slices.Repeat(valuesWith(se, value), n)
}

func TestMedianOverMoments(t *testing.T) {
	for _, c := range []struct {
		name      string
		values    []stat.Measurement
		value, se float64
	}{
		// MAD 1, so s = 1.4826; half of a moment's own variance may be common.
		{"scatter", valuesWith(0.1, 1, 2, 3, 4, 5), 3, math.Sqrt(math.Pi/2*1.4826*1.4826/5 + 0.5*0.1*0.1)},
		// No scatter at all: the error is common to all and does not average out.
		{"common error", steady(24, 0.5, 0.2), 0.5, 0.2},
		{"an outlier", valuesWith(0, 1, 1, 1, 1, 100), 1, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := Median.Of(recordOf(map[string][]stat.Measurement{"roll": c.values}), "roll")
			require.True(t, m.OK(), m.Missing)
			require.InDelta(t, c.value, m.Value, 1e-12)
			require.InDelta(t, c.se, m.SE, 1e-12)
		})
	}
}

// TestErrorsOfStatisticsAreHonest draws clips with known noise and holds that
// the truth is within two standard errors about as often as it should be.
func TestErrorsOfStatisticsAreHonest(t *testing.T) {
	const clips, noise = 400, 0.3
	rng := rand.New(rand.NewPCG(2, 1))
	hit := map[*Statistic]int{}
	for range clips {
		values := make([]stat.Measurement, 24)
		for i := range values {
			// A slow rise of 1 over the clip around 0.
			values[i] = stat.Measured(float64(i)/23-0.5+noise*rng.NormFloat64(), noise)
		}
		r := recordOf(map[string][]stat.Measurement{"roll": values})
		for s, truth := range map[*Statistic]float64{Median: 0, Drift: 1, Lowest: -0.45, Top: 0.45} {
			m := s.Of(r, "roll")
			require.True(t, m.OK())
			if math.Abs(m.Value-truth) <= 2*m.SE {
				hit[s]++
			}
		}
	}
	for s, n := range hit {
		// 95.4 % would be exact; the extremes also carry the noise's own pull
		// outwards. Less than 90 % would raise false alarms.
		require.GreaterOrEqual(t, float64(n)/clips, 0.9, "%s", s)
	}
}

func TestTooFewMoments(t *testing.T) {
	dark := stat.Missing("too dark")
	plain := stat.Missing("no texture")
	for _, c := range []struct {
		name    string
		values  []stat.Measurement
		planned int
		missing string
	}{
		{"none", []stat.Measurement{dark, dark, plain, dark}, 0, "too dark"},
		{"two", append(valuesWith(0.1, 1, 2), dark, plain, plain), 0, "measured at 2 of 5 moments only: no texture"},
		{"less than a quarter", append(valuesWith(0.1, 1, 2, 3), slices.Repeat([]stat.Measurement{dark}, 10)...), 0, "measured at 3 of 13 moments only: too dark"},
		{"two of two that were measured before the night ended", valuesWith(0.1, 1, 2), 24, "measured at 2 of 2 moments only"},
		{"a still", valuesWith(0.1, 1), 1, ""},
		{"a quarter", append(valuesWith(0.1, 1, 2, 3), slices.Repeat([]stat.Measurement{dark}, 9)...), 0, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := recordOf(map[string][]stat.Measurement{"roll": c.values})
			if c.planned > 0 {
				r.Header.Planned = c.planned
			}
			m := Median.Of(r, "roll")
			require.Equal(t, c.missing, m.Missing)
			require.Equal(t, c.missing == "", m.OK())
		})
	}
	require.Equal(t, "no moment was measured", Median.Of(record.Record{}, "roll").Missing)
	require.Equal(t, "it was not measured", Median.Of(recordOf(map[string][]stat.Measurement{"roll": steady(5, 0, 0)}), "zoom").Missing)
	require.Equal(t, "5 moments are too few to tell a drift", Drift.Of(recordOf(map[string][]stat.Measurement{"roll": steady(5, 0, 0)}), "roll").Missing)
	require.NotEmpty(t, Day.Of(recordOf(map[string][]stat.Measurement{"roll": steady(5, 0, 0)}), "roll").Missing)
}

func TestDriftReachesToTheEndsOfTheClip(t *testing.T) {
	r := recordOf(map[string][]stat.Measurement{"roll": valuesWith(0.01, 0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6)})
	require.InDelta(t, 0.6, Drift.Of(r, "roll").Value, 1e-9)
	r.Header.Left.Frames = 24*12 + 1 // the moments leave the last half of the clip out
	require.InDelta(t, 1.2, Drift.Of(r, "roll").Value, 1e-9)
}

func TestDriftOfManyMoments(t *testing.T) {
	const moments = 5000
	values := make([]stat.Measurement, moments)
	for i := range values {
		values[i] = stat.Measured(float64(i)/(moments-1), 0.01)
	}
	start := time.Now()
	require.InDelta(t, 1, Drift.Of(recordOf(map[string][]stat.Measurement{"roll": values}), "roll").Value, 1e-9)
	require.Less(t, time.Since(start), 2*time.Second)
}
