package coarse_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/coarse"
	"nightpair/metrics/synth"
)

// A blur of one eye shows in the variance, with its sign, against the same scene without it. The
// tolerance is what scenes differ by, three of the gain's standard errors.
func TestBlurOfDrawnScenes(t *testing.T) {
	scenes := []string{"street", "bricks", "night", "crowd"}
	if synth.LongSweeps() {
		scenes = nil
		for _, s := range synth.Scenes {
			scenes = append(scenes, s.Name)
		}
	}
	const scale = 1920 / 960
	for _, name := range scenes {
		s, ok := synth.Named(name)
		require.True(t, ok)
		variance := func(left, right float64) coarse.Reading {
			shot := synth.Shot{Scene: s, Noise: 1.5}
			shot.Left.Blur, shot.Right.Blur = left/scale, right/scale
			return coarse.Compare(coarse.Reduce(shot.Eye(synth.LeftEye, 1)), coarse.Reduce(shot.Eye(synth.RightEye, 1)), wide)
		}
		clean := variance(0, 0)
		require.Positive(t, clean.BlurSE, name)
		require.Less(t, math.Abs(clean.Blur), 1.6, name) // a pixel and a quarter
		for _, blur := range [][2]float64{{0, 1.5}, {0, 2.5}, {1.5, 0}} {
			r := variance(blur[0], blur[1])
			want := blur[1]*blur[1] - blur[0]*blur[0]
			got := coarse.BlurGain * (r.Blur - clean.Blur)
			t.Logf("%s: %.2f px² for %.2f", name, got, want)
			require.InDelta(t, want, got, 3*coarse.BlurGainSE/coarse.BlurGain*math.Abs(want), name)
		}
	}
}
