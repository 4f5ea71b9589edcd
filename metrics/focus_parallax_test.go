package metrics_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
)

// focusOf measures focus_parallax on a drawn shot at time t, with what is should
// be: b·f·(1/Zc − 1/Z) at the distance on which the lens is focused.
func focusOf(t testing.TB, shot synth.Shot, at float64) (m stat.Measurement, want float64) {
	t.Helper()
	metric, ok := metrics.Lookup("focus_parallax")
	require.True(t, ok)
	shot.Chroma = synth.NoChroma
	left, right, _ := shot.Render(at)
	convergence := shot.Rig.Convergence
	if convergence == 0 {
		convergence = shot.Scene.Convergence
	}
	want = 100 * shot.Scene.Focal * shot.Scene.Interaxial * (1/convergence - 1/shot.Lens.Focus)
	return metric.Measure(&metrics.Pair{Left: left, Right: right}), want
}

func TestFocusParallax(t *testing.T) {
	for _, c := range []struct {
		scene   string
		focuses []float64
	}{
		{"stairs", []float64{5, 9}},
		{"street", []float64{4.2}},
		{"yard", []float64{6.5}},
	} {
		for _, focus := range c.focuses {
			t.Run(fmt.Sprintf("%s at %v m", c.scene, focus), func(t *testing.T) {
				m, want := focusOf(t, synth.Shot{Scene: scene(t, c.scene), Noise: 1, Seed: 3, Lens: synth.Lens{Focus: focus, Aperture: 0.1}}, 0.5)
				require.True(t, m.OK(), m.Missing)
				t.Logf("%.3f ± %.3f, want %.3f", m.Value, m.SE, want)
				require.InDelta(t, want, m.Value, 0.15)
				require.Less(t, math.Abs(m.Value-want), 2.5*m.SE)
			})
		}
	}
	// Where all is sharp there is no telling.
	for _, s := range synth.Scenes {
		if s.Name != "yard" && !synth.LongSweeps() {
			continue
		}
		if s.Name == "target" || s.Name == "landscape" {
			continue // all of it at one distance
		}
		t.Run(s.Name+" through a pinhole", func(t *testing.T) {
			m, _ := focusOf(t, synth.Shot{Scene: s, Noise: 1, Seed: 3, Lens: synth.Lens{Focus: 1}}, 0.5)
			require.NotEmpty(t, m.Missing, "%+v", m)
		})
	}
}

// A line-up target at the distance on which the cameras converge, as far as the
// lenses are focused: zero.
func TestFocusParallaxOfATarget(t *testing.T) {
	m, want := focusOf(t, synth.Shot{Scene: scene(t, "target"), Noise: 1, Lens: synth.Lens{Focus: 1.5, Aperture: 0.03}}, 0)
	require.True(t, m.OK(), m.Missing)
	require.Zero(t, want)
	require.InDelta(t, 0, m.Value, 0.03)
}
