package judge

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/qc/screen"
)

const limitHeader = "metric,statistic,low,high,severity,source\n"

func TestParseLimits(t *testing.T) {
	limits, err := ParseLimits(strings.NewReader("# mine\n"+limitHeader+
		"roll,median,-0.5,0.5,warn,\"me, myself\"\n"+
		"far_parallax,Highest,,60 arcmin,FAIL,us\n"+
		"near_parallax,lowest,-40mm,,fail,us\n"+
		"frames_difference,fact,0,0,warn,us\n"), "mine.csv")
	require.NoError(t, err)
	require.Equal(t, Limits{
		{Metric: "roll", Statistic: Median, Low: -0.5, High: 0.5, Severity: Warn, Source: "me, myself"},
		{Metric: "far_parallax", Statistic: Top, Low: math.Inf(-1), High: 60, Severity: Fail, Source: "us", Unit: Arcmin},
		{Metric: "near_parallax", Statistic: Lowest, Low: -40, High: math.Inf(1), Severity: Fail, Source: "us", Unit: Millimetres},
		{Metric: "frames_difference", Statistic: Fact, Severity: Warn, Source: "us"},
	}, limits)
	require.Equal(t, []string{"roll", "far_parallax", "near_parallax", "frames_difference"}, metricsOf(limits))
}

func TestParseLimitsErrorsNameLineAndReason(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "m.csv: empty"},
		{limitHeader, "m.csv: no limits in it"},
		{"metric,statistic,low,high,severity\n", `m.csv: no column "source"`},
		{limitHeader + "rolll,median,0,1,warn,x\n", "m.csv:2: unknown metric \"rolll\"; did you mean roll?\nthe metrics are vertical_offset, roll, zoom, "},
		{limitHeader + "\n# x\nroll,mean,0,1,warn,x\n", "m.csv:4: unknown statistic \"mean\"; did you mean median?\nthe statistics are median, lowest, highest, stretch, change, oscillation, drift, jump, cut, next, target, day, fact"},
		{limitHeader + "roll,fact,0,1,warn,x\n", `m.csv:2: roll is a metric: its statistic is not fact`},
		{limitHeader + "focus_lagg,fact,0,1,warn,x\n", "m.csv:2: unknown fact \"focus_lagg\"; did you mean focus_lag?\nthe facts are frames_difference, "},
		{limitHeader + "roll,cut,0,1,warn,x\n", `m.csv:2: roll is not judged by the statistic cut, but only near_parallax, far_parallax`},
		{limitHeader + "roll,target,0,1,warn,x\n", `m.csv:2: roll is not judged by the statistic target, but only focus_parallax`},
		{limitHeader + "frames_difference,median,0,1,warn,x\n", `m.csv:2: frames_difference is a fact`},
		{limitHeader + "roll,median,2,1,warn,x\n", `m.csv:2: low 2 is above high 1`},
		{limitHeader + "roll,median,,,warn,x\n", `m.csv:2: neither low nor high is given`},
		{limitHeader + "roll,median,0,1,bad,x\n", `m.csv:2: unknown severity "bad"`},
		{limitHeader + "roll,median,0,1 arcmin,warn,x\n", `m.csv:2: low and high in unlike units`},
		{limitHeader + "roll,median,,1 arcmin,warn,x\n", `m.csv:2: roll is not measured in arcmin`},
		{limitHeader + "far_parallax,median,,1 cm,warn,x\n", `m.csv:2: high: "1 cm" is not a number, nor one in arcmin or mm`},
		{limitHeader + "roll,median,NaN,,warn,x\n", `m.csv:2: low: "NaN" is not a number`},
		{limitHeader + "roll,median,,inf,warn,x\n", `m.csv:2: high: "inf" is not a number`},
		{limitHeader + "roll,median,0,5,1,warn,x\n", `m.csv:2: 7 cells under 6 columns`},
	} {
		_, err := ParseLimits(strings.NewReader(c.text), "m.csv")
		require.ErrorContains(t, err, c.want, "%q", c.text)
	}
	_, err := ParseLimits(strings.NewReader(limitHeader+"a,median,0,1,warn,x\nb,median,0,1,warn,x\n"), "m.csv")
	require.ErrorContains(t, err, "m.csv:2:")
	require.ErrorContains(t, err, "m.csv:3:")
}

func FuzzParseLimits(f *testing.F) {
	f.Add(limitHeader + "roll,median,-0.5,0.5,warn,x\n")
	f.Add(limitHeader + "far_parallax,highest,,60 arcmin,fail,x\n")
	f.Add("source,severity,high,low,statistic,metric\nx,warn,1e300,-1e300,drift,zoom\n")
	f.Add(viewerCSV)
	f.Fuzz(func(t *testing.T, text string) {
		limits, err := ParseLimits(strings.NewReader(text), "m.csv")
		if err != nil {
			require.ErrorContains(t, err, "m.csv")
			require.Nil(t, limits)
			return
		}
		require.NotEmpty(t, limits)
		judged, _ := limits.On(screen.Screen{})
		require.Len(t, judged, len(limits))
		for _, l := range judged {
			require.LessOrEqual(t, l.Low, l.High)
			require.Equal(t, MetricUnit, l.Unit)
			require.False(t, math.IsInf(l.Low, -1) && math.IsInf(l.High, 1))
		}
	})
}

func TestLimitsOnScreens(t *testing.T) {
	limits, err := ParseLimits(strings.NewReader(limitHeader+
		"far_parallax,highest,,60 arcmin,warn,x\n"+
		"far_parallax,highest,,65 mm,fail,x\n"+
		"near_parallax,lowest,-60 arcmin,,warn,x\n"+
		"near_parallax,lowest,-1,,warn,x\n"), "m")
	require.NoError(t, err)

	judged, notes := limits.On(screen.Screen{Width: 10})
	require.Empty(t, notes)
	require.InDelta(t, 2.945, judged[0].High, 5e-4) // 60′ at three heights
	require.Equal(t, "60 arcmin", judged[0].Written)
	require.InDelta(t, 0.65, judged[1].High, 1e-12) // 65 mm of 10 m
	require.Equal(t, "65 mm", judged[1].Written)
	require.InDelta(t, -2.945, judged[2].Low, 5e-4)
	require.True(t, math.IsInf(judged[2].High, 1))
	require.Equal(t, "−60 arcmin", judged[2].Written)
	require.Equal(t, limits[3], judged[3])
	require.Equal(t, Arcmin, limits[0].Unit, "the receiver must stay as it was")

	// The same master is within limits on a television and diverges in a cinema.
	television, _ := limits.On(screen.Screen{Width: 1.018})
	require.Greater(t, television[1].High, 2.0)
	require.Less(t, judged[1].High, 2.0)

	judged, notes = limits.On(screen.Screen{View: 90})
	require.Len(t, judged, 3)
	require.Equal(t, []string{"far_parallax is not held against 65 mm: that needs the width of the screen (--screen)"}, notes)
	// Half of 90° is 45°, so 1 % of the width is 0.02 of the distance.
	require.InDelta(t, 60/(0.02*180/math.Pi*60), judged[0].High, 1e-9)
}

func TestBuiltInLimits(t *testing.T) {
	for _, set := range LimitSets {
		limits := set.Limits()
		for _, l := range limits {
			require.NotEmpty(t, l.Source)
			if l.Statistic == Fact {
				continue
			}
			m, _ := metrics.Lookup(l.Metric)
			if l.Unit == MetricUnit && !math.IsNaN(m.Ideal) {
				require.Negative(t, l.excess(m.Ideal), "%s: a perfect pair must pass %s", set.Name, l.Metric)
			}
		}
		for _, f := range Facts {
			require.Contains(t, metricsOf(limits), f.Name, set.Name)
		}
		// A warning comes no later than a failure.
		judged, _ := limits.On(screen.Screen{})
		for _, w := range judged {
			for _, f := range judged {
				if w.Metric == f.Metric && w.Statistic == f.Statistic && w.Severity == Warn && f.Severity == Fail && (w.Written == "") == (f.Written == "") {
					unit := func(l Limit) string { return l.Written[strings.LastIndexByte(l.Written, ' ')+1:] }
					if w.Written != "" && unit(w) != unit(f) {
						continue
					}
					require.GreaterOrEqual(t, w.Low, f.Low, w.Metric)
					require.LessOrEqual(t, w.High, f.High, w.Metric)
				}
			}
		}
	}

	// Report ITU-R BT.2293-0, Table 8.
	high := map[string]map[Severity]float64{}
	for _, l := range LimitSets[0].Limits() {
		if l.Statistic == Median {
			if high[l.Metric] == nil {
				high[l.Metric] = map[Severity]float64{}
			}
			high[l.Metric][l.Severity] = l.High
		}
	}
	for metric, want := range map[string][2]float64{
		"vertical_offset": {0.7, 1.5}, "roll": {0.5, 1.1}, "zoom": {1.2, 2.9},
		"vertical_worst": {0.7, 1.5}, "keystone": {0.7, 1.5},
		// White of 70 % and 60 % of the signal at gamma 2.4, in stops.
		"exposure": {-2.4 * math.Log2(0.7), -2.4 * math.Log2(0.6)},
	} {
		require.InDelta(t, want[0], high[metric][Warn], 5e-4, metric)
		require.InDelta(t, want[1], high[metric][Fail], 5e-4, metric)
	}
}

func TestRigLimitsAreLinesOf1080(t *testing.T) {
	for _, l := range LimitSets[1].Limits() {
		lines := map[Severity]float64{Warn: 1, Fail: 2}[l.Severity]
		if l.Statistic != Median {
			continue
		}
		switch l.Metric {
		case "vertical_offset", "keystone":
			require.InDelta(t, lines, l.High/100*1080, 0.01)
		case "roll":
			require.InDelta(t, lines, 960*math.Sin(l.High*math.Pi/180), 0.01)
		case "zoom":
			require.InDelta(t, lines, 540*l.High/100, 0.01)
		}
	}
}

func TestOpenLimits(t *testing.T) {
	limits, err := OpenLimits("")
	require.NoError(t, err)
	require.Equal(t, LimitSets[0].Limits(), limits)
	limits, err = OpenLimits("rig")
	require.NoError(t, err)
	require.Equal(t, LimitSets[1].Limits(), limits)
	path := filepath.Join(t.TempDir(), "mine.csv")
	require.NoError(t, os.WriteFile(path, []byte(rigCSV), 0o644))
	limits, err = OpenLimits(path)
	require.NoError(t, err)
	require.Equal(t, LimitSets[1].Limits(), limits)
	_, err = OpenLimits("loose")
	require.ErrorIs(t, err, os.ErrNotExist)
}

// metricsOf returns the names that limits are about, each once, in order.
func metricsOf(limits Limits) []string {
	var names []string
	for _, l := range limits {
		if !slices.Contains(names, l.Metric) {
			names = append(names, l.Metric)
		}
	}
	return names
}
