package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/qc/judge"
)

func TestPairs(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"A_L.mov", "A_R.mov", "B_L.mov"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), nil, 0o666))
	}
	got := nightpair(t, dir, "pairs", ".")
	require.Equal(t, 3, got.code, "%+v", got)
	require.Contains(t, got.out, "A\n  left   A_L.mov\n  right  A_R.mov\n  because of ")
	require.Contains(t, got.out, "  left   B_L.mov\n  not measurable: ")
	require.Empty(t, got.errors)
	require.NoError(t, os.Remove(filepath.Join(dir, "B_L.mov")))
	got = nightpair(t, dir, "pairs", ".")
	require.Zero(t, got.code, "%+v", got)
	require.NoDirExists(t, filepath.Join(dir, defaultOut), "nothing is written")
}

// The tags of a file are read in a process of its own.
func TestPairsAsksForTags(t *testing.T) {
	dir := t.TempDir()
	ffmpeg(t, nil, "-f", "lavfi", "-i", "testsrc2=size=320x180:rate=24:duration=0.5",
		"-c:v", "mjpeg", "-metadata:s:v", "stereo_mode=top_bottom", filepath.Join(dir, "both.mkv"))
	got := nightpair(t, dir, "pairs", ".")
	require.Zero(t, got.code, "%+v", got)
	require.Contains(t, got.out, "(top and bottom)")
}

func TestPairsShowsNamesSafely(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "\x1b[2J\nA_L.mov"), nil, 0o666))
	got := nightpair(t, dir, "pairs", ".")
	require.NotContains(t, got.out, "\x1b")
	require.Len(t, strings.Split(strings.TrimSpace(got.out), "\n"), 3)
}

func TestMetricsListsAll(t *testing.T) {
	got := nightpair(t, t.TempDir(), "metrics")
	require.Zero(t, got.code)
	lines := strings.Split(strings.TrimSpace(got.out), "\n")
	require.Len(t, lines, 1+len(metrics.All)+len(judge.Facts))
	for i, m := range metrics.All {
		require.True(t, strings.HasPrefix(lines[i+1], m.Name+" "), lines[i+1])
		got := nightpair(t, t.TempDir(), "metrics", m.Name)
		require.Zero(t, got.code)
		require.True(t, strings.HasPrefix(got.out, m.Name+"\n"))
		require.Equal(t, strings.Fields(m.Doc), strings.Fields(got.out)[1:1+len(strings.Fields(m.Doc))])
	}
}

func TestMetricsListsFacts(t *testing.T) {
	list := nightpair(t, t.TempDir(), "metrics")
	for _, f := range judge.Facts {
		require.Contains(t, list.out, "\n"+f.Name+" ")
		got := nightpair(t, t.TempDir(), "metrics", f.Name)
		require.Zero(t, got.code)
		require.Equal(t, strings.Fields(f.Name+" "+f.Doc), strings.Fields(got.out)[:1+len(strings.Fields(f.Doc))])
	}
}

func TestMistypedNames(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "ours.csv"), []byte("metric,statistic,low,high,severity,source\nrol,median,0,1,warn,us\n"), 0o666))
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"chek"}, "did you mean check?\nnightpair: hint: Run `nightpair help` for usage\n"},
		{[]string{"help", "judg"}, "did you mean judge?\n"},
		{[]string{"check", "x", "--limts", "rig"}, "did you mean --limits?\nnightpair: hint: Run `nightpair help check` for usage\n"},
		{[]string{"metrics", "focus_lg"}, "did you mean focus_lag?\n"},
		{[]string{"metrics", "exposrue"}, "did you mean exposure?\n"},
		{[]string{"limits", "rg"}, "did you mean rig?\n"},
		{[]string{"judge", "x", "--limits", "viewr"}, "did you mean viewer?\n"},
		{[]string{"judge", "x", "--limits", "ours.csv"}, "did you mean roll?; the metrics are vertical_offset, roll, "},
	} {
		got := nightpair(t, dir, c.args...)
		require.Equal(t, 2, got.code, "%v", c.args)
		require.Contains(t, got.errors, c.want, "%v", c.args)
	}
}

func TestLimitsPrintsFiles(t *testing.T) {
	got := nightpair(t, t.TempDir(), "limits")
	require.Zero(t, got.code)
	for _, set := range judge.LimitSets {
		require.Contains(t, got.out, set.Name)
		printed := nightpair(t, t.TempDir(), "limits", set.Name)
		require.Zero(t, printed.code)
		require.Equal(t, set.CSV, printed.out)
		limits, err := judge.ParseLimits(strings.NewReader(printed.out), set.Name)
		require.NoError(t, err)
		require.Equal(t, set.Limits(), limits)
	}
}

func TestHelp(t *testing.T) {
	for _, args := range [][]string{{"--help"}, {"help"}, {"help", "check"}, {"check", "--help"}, {"judge", "--help"}, {"pairs", "--help"}, {"metrics", "--help"}, {"limits", "--help"}, {"demo", "--help"}} {
		got := nightpair(t, t.TempDir(), args...)
		require.Zero(t, got.code, "%v", args)
		require.Contains(t, got.out, "Usage:")
		require.NotContains(t, got.out, measureName)
		require.Empty(t, got.errors)
	}
}

func TestChildStartsNoChildren(t *testing.T) {
	t.Setenv("NIGHTPAIR_CHILD", "1")
	dir := t.TempDir()
	clean.pair(t, dir, "A")
	got := nightpair(t, dir, "check", ".")
	require.Equal(t, 2, got.code)
	require.Contains(t, got.errors, "a measuring process does not start others")
}
