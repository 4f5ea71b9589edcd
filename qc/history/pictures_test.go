package history

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/synth"
	"nightpair/qc/record"
)

// TestDrawnPicturesTellTiltAndHeightApart measures drawn pictures of a flat target and of far
// hills through one rig, none of which tells its height from its tilt, and holds what they tell
// together against the exact projection.
func TestDrawnPicturesTellTiltAndHeightApart(t *testing.T) {
	rig := synth.Rig{
		Interaxial: 0.06, Focal: 1.1, Convergence: 3,
		Camera: synth.CameraError{Height: 0.03, Tilt: 0.1, Roll: 0.1},
	}
	var all []record.Record
	var truth *synth.Truth
	for i := range MinClips {
		name := []string{"target", "landscape"}[i%2]
		scene := synth.Scenes[slices.IndexFunc(synth.Scenes, func(s synth.Scene) bool { return s.Name == name })]
		shot := synth.Shot{Scene: scene, Rig: rig, Width: 960, Height: 540, Noise: 1.5}
		left, right, in := shot.Render(0.3 * float64(i))
		truth = in
		state := (&metrics.Pair{Left: left, Right: right}).RigState()
		require.NotNil(t, state)
		source := record.Source{Created: time.Date(2031, 3, 4, 9, i, 0, 0, time.UTC), Camera: "A"}
		all = append(all, record.Record{
			Header:  record.Header{Clip: record.Clip{Name: fmt.Sprint(name, i)}, Left: source, Right: source, EyeWidth: 960, EyeHeight: 540, PixelAspect: 1},
			Moments: []record.Moment{{Rig: state}}, Trailer: record.Trailer{Done: true},
		})
	}
	h := FollowAll(all)[0]
	s := h.Of(metrics.VerticalOffset)
	for _, o := range observe(h.Rig, s.Term) {
		t.Logf("at %+.2f %%: offset %+.4f ± %.4f %%, wanted %+.4f", o.parallax, o.level, o.se, truth.InjectedAt(o.parallax).VerticalOffset)
	}
	in := truth.InjectedAt(s.Parallax)
	t.Logf("height %v, wanted %.4f; offset at %.2f %%: %v, wanted %.4f", s.Slope[0], in.HeightStep, s.Parallax, s.State[0], in.VerticalOffset)
	require.True(t, s.Slope[0].OK(), s.Slope[0].Missing)
	require.InDelta(t, in.HeightStep, s.Slope[0].Value, 3*s.Slope[0].SE)
	require.Less(t, s.Slope[0].SE, 0.1*math.Abs(in.HeightStep), "ten times better than nothing")
	require.InDelta(t, in.VerticalOffset, s.State[0].Value, 3*s.State[0].SE)
	require.InDelta(t, in.Roll, h.Of(metrics.Roll).State[0].Value, 3*h.Of(metrics.Roll).State[0].SE)
	require.Empty(t, told(h))
}
