package main

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/cmd/internal/demo"
)

// A night over the demo finds its faults, all of them and nothing else. The
// pictures are half as wide as the demo has them, to save time, and as wide for
// make accuracy.
func TestCheckOfTheDemo(t *testing.T) {
	width, samples := demo.Width/2, "8"
	if os.Getenv("NIGHTPAIR_ACCURACY") != "" {
		width, samples = demo.Width, "24"
	}
	dir := t.TempDir()
	require.NoError(t, demo.Write(t.Context(), filepath.Join(dir, "day"), width, nil))
	got := nightpair(t, dir, "check", "day", "--out", "out", "--samples", samples, "--quiet")
	require.Equal(t, 1, got.code, "%+v", got)

	// Clips are known by their left files: what they are called is not the demo's.
	found := map[string]map[string]float64{}
	verdict := map[string]string{}
	findings := rows(t, dir, "out/findings.csv")
	for name, row := range rows(t, dir, "out/clips.csv") {
		left, err := filepath.Rel("day", row[0]["left"])
		require.NoError(t, err)
		verdict[left], found[left] = row[0]["verdict"], map[string]float64{}
		for _, f := range findings[name] {
			require.NotContains(t, found[left], f["metric"], "%s: found twice", name)
			found[left][f["metric"]] = figure(t, f, "value")
		}
		require.Equal(t, "upright", row[0]["orientation"], name)
		require.NotEqual(t, "swapped", row[0]["eye_order"], name)
	}
	require.NotContains(t, got.out, "the day", "nothing is wrong with it")
	require.Len(t, found, len(demo.Day()))
	for _, clip := range demo.Day() {
		t.Run(clip.Left, func(t *testing.T) {
			var want, metrics []string
			for _, fault := range clip.Faults {
				want = append(want, fault.Metric)
				// A value is told where it is worst, which for parallax is a little beyond
				// the middle of the take.
				require.InDelta(t, fault.Value, found[clip.Left][fault.Metric], 0.05*math.Abs(fault.Value), fault.Metric)
			}
			for metric := range found[clip.Left] {
				metrics = append(metrics, metric)
			}
			require.ElementsMatch(t, want, metrics)
			require.Equal(t, len(want) == 0, verdict[clip.Left] == "pass", verdict[clip.Left])
		})
	}
}

func TestDrawingTellsQuarters(t *testing.T) {
	said := func(a app, counts ...int) string {
		var b strings.Builder
		tell := a.drawing(&b)
		for _, done := range counts {
			tell(done, 8)
		}
		return b.String()
	}
	require.Equal(t, "nightpair: drawn 2 of 8\nnightpair: drawn 4 of 8\nnightpair: drawn 6 of 8\nnightpair: drawn 8 of 8\n",
		said(app{}, 0, 1, 2, 3, 4, 5, 6, 7, 8))
	require.Equal(t, "nightpair: drawn 5 of 8\nnightpair: drawn 8 of 8\n", said(app{}, 5, 8))
	require.Equal(t, "{\"event\":\"drawn\",\"done\":3,\"total\":8}\n", said(app{json: true}, 3))
	require.Empty(t, said(app{quiet: true}, 3, 8))
}
