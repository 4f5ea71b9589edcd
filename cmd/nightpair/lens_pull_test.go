package main

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/decode/encode"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// A focus pull along steps, from files to findings: with the right lens going the
// other way, and with both lenses together.
func TestFindsLensThatGoesTheOtherWay(t *testing.T) {
	scene, ok := synth.Named("stairs")
	require.True(t, ok)
	const stops = 6
	var drawn [2][stops + 1]*picture.Frame
	film := func(eye synth.Eye, path string, stop func(i int) int) {
		var all []*picture.Frame
		for i := range stops + 5 {
			at := min(max(stop(i-2), 0), stops)
			if drawn[eye][at] == nil {
				k := float64(at) / stops // in equal steps of parallax from 4.5 to 11 m
				shot := synth.Shot{Scene: scene, Width: 720, Height: 406, Lens: synth.Lens{Focus: 1 / ((1-k)/4.5 + k/11), Aperture: 0.03}}
				drawn[eye][at] = shot.Eye(eye, 0.5)
			}
			all = append(all, synth.Noisy(drawn[eye][at], 1, 10, uint64(2*i)+uint64(eye)))
		}
		require.NoError(t, encode.WriteAll(path, encode.Movie{Codec: encode.FFV1}, all...))
	}
	dir := t.TempDir()
	forth := func(i int) int { return i }
	clips := map[string]func(i int) int{"other": func(i int) int { return stops - i }}
	if os.Getenv("NIGHTPAIR_ACCURACY") != "" {
		clips["together"] = forth
	}
	for name, right := range clips {
		film(synth.LeftEye, filepath.Join(dir, name+"_L.mkv"), forth)
		film(synth.RightEye, filepath.Join(dir, name+"_R.mkv"), right)
	}
	got := nightpair(t, dir, "check", ".", "--limits", "rig", "--quiet")
	require.Equal(t, 1, got.code, got.errors)
	file, err := os.Open(filepath.Join(dir, "nightpair-report", "findings.csv"))
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	for _, row := range rows[1:] {
		t.Logf("%q", row)
	}
	require.Len(t, rows, 2)
	require.Contains(t, rows[1][0], "other")
	require.Equal(t, "lens_travel", rows[1][2])
	require.Equal(t, "reshoot", rows[1][10])
	require.Regexp(t, "^During the focus pull the right lens falls short of the left by .* of the way. It seems to go the other way", rows[1][11])
}
