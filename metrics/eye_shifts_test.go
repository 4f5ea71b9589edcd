package metrics_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/geometry"
	"nightpair/metrics/synth"
)

func TestShiftsSince(t *testing.T) {
	posts := scene(t, "posts")
	still := posts.World(0)
	posts.World = func(float64) synth.World { return still }
	take := func(pose synth.Pose, pan, zoom float64, blur float64) *metrics.Pair {
		shot := synth.Shot{Scene: posts, Width: 480, Height: 270, Noise: 1, Seed: uint64(1000 * (1 + math.Abs(pose.Yaw) + pan)), Chroma: synth.NoChroma, Left: synth.Light{Blur: blur}, Right: synth.Light{Blur: blur}}
		shot.Scene.Camera = func(float64) synth.Pose { return pose }
		shot.Rig = synth.Rig{Camera: synth.CameraError{Pan: pan}, Picture: synth.PictureError{Zoom: zoom}}
		left, right, _ := shot.Render(0)
		return &metrics.Pair{Left: left, Right: right}
	}
	start := take(synth.Pose{}, 0, 0, 0)
	width := func(degrees float64) float64 { return 100 * posts.Focal * math.Tan(degrees*math.Pi/180) }
	requireMoved := func(p *metrics.Pair, left, right, zoom float64) {
		t.Helper()
		m := p.ShiftsSince(start)
		require.True(t, m.Left.Across.OK() && m.Right.Across.OK(), "%+v", m)
		require.InDelta(t, left, m.Left.Across.Value, 0.02)
		require.InDelta(t, right, m.Right.Across.Value, 0.02)
		require.InDelta(t, 0, m.Left.Down, 0.03)
		require.InDelta(t, 0, m.Right.Down, 0.03)
		require.InDelta(t, 0, m.Left.Zoom, 0.05)
		require.InDelta(t, zoom, m.Right.Zoom, 0.05)
	}
	requireMoved(start, 0, 0, 0)
	// The right eye's axis turns in, and its lens breathes.
	requireMoved(take(synth.Pose{}, 0.4, 0.5, 0), 0, width(0.4), 0.5)
	// The rig pans to the right: both pictures move to the left. All is less sharp.
	requireMoved(take(synth.Pose{Yaw: 0.3}, 0, 0, 1.2), -width(0.3), -width(0.3), 0)
	// A camera that moves aside sees what is near move more than what is far.
	m := take(synth.Pose{At: synth.Vec{X: 0.12}}, 0, 0, 0).ShiftsSince(start)
	require.Equal(t, geometry.SceneMoves, m.Left.Across.Missing, "%+v", m)
	// Another picture altogether.
	left, right, _ := synth.Shot{Scene: scene(t, "target"), Width: 480, Height: 270, Chroma: synth.NoChroma}.Render(0)
	m = (&metrics.Pair{Left: left, Right: right}).ShiftsSince(start)
	require.False(t, m.Left.Across.OK())
	require.False(t, m.Right.Across.OK())
}
