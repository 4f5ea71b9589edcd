package metrics_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/synth"
)

// What lies at one parallax tells neither camera height from tilt nor a forward offset from
// the focal length, and yet how the pictures differ: offset and zoom are as well known there
// as anywhere. The wanted errors are the project's own choice.
func TestFlatScenesTellWhatThePictureShows(t *testing.T) {
	for _, name := range []string{"landscape", "target"} {
		shot := synth.Shot{Scene: scene(t, name), Noise: 1.5, Rig: synth.Rig{
			Convergence: 4, // so that even the target has parallax
			Camera:      synth.CameraError{Height: 0.02, Tilt: 0.1, Focal: 0.003, Forward: 0.02},
		}}
		left, right, truth := shot.Render(0.5)
		p := &metrics.Pair{Left: left, Right: right}
		offset, zoom := lookup(t, "vertical_offset").Measure(p), lookup(t, "zoom").Measure(p)
		in := truth.InjectedAt(100 * p.OwnParallax() * float64(truth.Height) / float64(truth.Width))
		t.Logf("%s: offset %+.4f ± %.4f %%, wanted %+.4f; zoom %+.4f ± %.4f %%, wanted %+.4f",
			name, offset.Value, offset.SE, in.VerticalOffset, zoom.Value, zoom.SE, in.Zoom)
		require.Less(t, offset.SE, 0.02)
		require.Less(t, zoom.SE, 0.03)
		require.Less(t, math.Abs(offset.Value-in.VerticalOffset), 3*offset.SE)
		require.Less(t, math.Abs(zoom.Value-in.Zoom), 3*zoom.SE)
	}
}
