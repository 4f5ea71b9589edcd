package main

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/decode/encode"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// cleanClip is a clip in which nothing is wrong.
type cleanClip struct {
	scene  string
	codec  encode.Codec
	depth  int
	chroma synth.Chroma
	noise  float64 // see synth.Shot
	moving bool
	rig    synth.Rig
	right  synth.Light // as two good cameras differ
	// convergence in metres, 0 for the scene's own.
	convergence float64
}

// cleanFew is how many of cleanClips are enough every day.
const cleanFew = 10

// cleanClips lists clips of varied content, coding, noise, rig and light. The first cleanFew
// of them stand for all.
var cleanClips = func() []cleanClip {
	// Within the limits of a rig, all at once.
	slight := synth.Rig{Picture: synth.PictureError{Shift: 0.03, Roll: 0.015, Zoom: -0.05}}
	mirrored := synth.Rig{Picture: synth.PictureError{Shift: -0.04, Roll: -0.02, Zoom: 0.06}}
	matched := synth.Light{Exposure: 0.04, Red: -0.03, Blue: 0.03, Blur: 0.03}
	return []cleanClip{
		{scene: "yard", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 1, moving: true, rig: slight},
		{scene: "street", codec: encode.ProRes, depth: 10, noise: 1.5, moving: true, right: matched},
		{scene: "night", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 0.5},
		{scene: "ground", codec: encode.ProRes, depth: 10, noise: 0.7, rig: slight},
		{scene: "landscape", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 1, right: matched},
		{scene: "water", codec: encode.ProRes, depth: 10, noise: 1, moving: true},
		{scene: "portrait", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 2, rig: mirrored},
		{scene: "posts", codec: encode.ProRes, depth: 10, noise: 0.7, right: matched},
		{scene: "target", codec: encode.ProRes, depth: 10, noise: 0.5, rig: mirrored},
		{scene: "foliage", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 1, right: matched},
		{scene: "crowd", codec: encode.FFV1, depth: 10, noise: 1.5, moving: true, convergence: 3.2},

		{scene: "yard", codec: encode.ProRes, depth: 10, noise: 2, right: matched},
		{scene: "street", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 0.7, rig: mirrored},
		{scene: "bricks", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 1, rig: slight, moving: true},
		{scene: "bricks", codec: encode.ProRes, depth: 10, noise: 1.5, right: matched},
		{scene: "blinds", codec: encode.ProRes, depth: 10, noise: 1},
		{scene: "blinds", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 0.7, right: matched, moving: true},
		{scene: "foliage", codec: encode.ProRes, depth: 10, noise: 2, moving: true},
		{scene: "night", codec: encode.ProRes, depth: 10, noise: 1, right: matched},
		{scene: "smoke", codec: encode.H264, depth: 10, chroma: synth.Chroma420, noise: 0.7, rig: slight},
		{scene: "smoke", codec: encode.ProRes, depth: 10, noise: 1.5, moving: true},
		{scene: "water", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 0.7, right: matched},
		{scene: "portrait", codec: encode.ProRes, depth: 10, noise: 0.7, right: matched, moving: true},
		{scene: "corridor", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 1, rig: mirrored, moving: true},
		{scene: "corridor", codec: encode.ProRes, depth: 10, noise: 2, right: matched},
		{scene: "landscape", codec: encode.ProRes, depth: 10, noise: 2, moving: true},
		{scene: "ground", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 1.5, right: matched, moving: true},
		{scene: "posts", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 1.5, moving: true},
		{scene: "stairs", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 0.7, rig: slight, moving: true},
		{scene: "crowd", codec: encode.H264, depth: 8, chroma: synth.Chroma420, noise: 0.7, right: matched, convergence: 3.2},
	}
}()

// write films a clip, its eyes in files of their own.
func (c cleanClip) write(t *testing.T, name string) {
	const frames = 3
	scene, ok := synth.Named(c.scene)
	require.True(t, ok, c.scene)
	rig := c.rig
	rig.Convergence = c.convergence
	shot := synth.Shot{Scene: scene, Rig: rig, Right: c.right, Width: 640, Height: 360, Chroma: c.chroma}
	for eye, mark := range [...]string{"_L", "_R"} {
		var all []*picture.Frame
		var still *picture.Frame
		for i := range frames {
			drawn := still
			if drawn == nil || c.moving {
				drawn = shot.Eye(synth.Eye(eye), 0.5+float64(i)/24)
				still = drawn
			}
			f := synth.Noisy(drawn, c.noise, c.depth, uint64(16*i+eye))
			all = append(all, f)
		}
		require.NoError(t, encode.WriteAll(name+mark+c.codec.Extension(), encode.Movie{Codec: c.codec}, all...))
	}
}

// Clips of varied content in which nothing is wrong raise no finding at all, from
// encoded files to the verdict, by any of the built-in limits.
func TestCleanFilesRaiseNothing(t *testing.T) {
	clips := cleanClips
	require.Len(t, clips, 30)
	if os.Getenv("NIGHTPAIR_ACCURACY") == "" {
		clips = clips[:cleanFew]
	}
	dir := t.TempDir()
	for i, c := range clips {
		c.write(t, filepath.Join(dir, fmt.Sprintf("%02d-%s", i+1, c.scene)))
	}
	for i, limits := range []string{"rig", "viewer"} {
		command := []string{"check", "."}
		if i > 0 {
			command = []string{"judge", "nightpair-report"}
		}
		got := nightpair(t, dir, append(command, "--limits", limits, "--quiet")...)
		file, err := os.Open(filepath.Join(dir, "nightpair-report", "findings.csv"))
		require.NoError(t, err)
		rows, err := csv.NewReader(file).ReadAll()
		require.NoError(t, err)
		require.NoError(t, file.Close())
		for _, row := range rows[1:] {
			t.Errorf("%s: %q", limits, row)
		}
		require.Zero(t, got.code, got.errors)
	}
}
