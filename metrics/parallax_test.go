package metrics_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/depth"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
)

// parallaxOf measures both ends of the parallax.
func parallaxOf(t testing.TB, left, right *picture.Frame) (near, far stat.Measurement) {
	t.Helper()
	pair := &metrics.Pair{Left: left, Right: right}
	for name, m := range map[string]*stat.Measurement{"near_parallax": &near, "far_parallax": &far} {
		metric, ok := metrics.Lookup(name)
		require.True(t, ok)
		*m = metric.Measure(pair)
	}
	return near, far
}

// smallBall is a ball that covers 0.5 % of the picture, nearer than all else.
var smallBall = synth.Scene{
	Name: "small ball", Interaxial: 0.065, Focal: 1.1, Convergence: 4,
	World: func(float64) synth.World {
		return synth.World{
			Things: []synth.Thing{
				{Shape: synth.Panel, At: synth.Vec{Z: 9}, Size: synth.Vec{X: 14, Y: 8}, Paint: synth.Paint{Base: synth.RGB{R: 0.2, G: 0.3, B: 0.2}, Second: synth.RGB{R: 0.4, G: 0.4, B: 0.3}, Size: 0.6, Contrast: 0.5, Persistence: 0.9, Seed: 1}},
				// 57 pixels across at 1056 pixels of focal length.
				{Shape: synth.Ball, At: synth.Vec{X: 0.4, Y: 0.2, Z: 2.6}, Size: synth.Vec{X: 0.14}, Paint: synth.Paint{Base: synth.RGB{R: 0.5, G: 0.2, B: 0.1}, Second: synth.RGB{R: 0.6, G: 0.5, B: 0.2}, Size: 0.05, Contrast: 0.5, Persistence: 0.9, Seed: 2}},
			},
			Sun: synth.Vec{X: -0.4, Y: -0.6, Z: -0.7}, Ambient: 0.5,
		}
	},
}

// thinPole is a dark pole 14 pixels wide, which covers 1.5 % of the picture.
var thinPole = synth.Scene{
	Name: "thin pole", Interaxial: 0.065, Focal: 1.1, Convergence: 4,
	World: func(t float64) synth.World {
		w := smallBall.World(t)
		w.Things[1] = synth.Thing{Shape: synth.Post, At: synth.Vec{X: -0.3, Z: 2.6}, Size: synth.Vec{X: 0.034, Y: 3}, Paint: synth.Paint{Base: synth.RGB{R: 0.03, G: 0.02, B: 0.01}, Second: synth.RGB{R: 0.12, G: 0.08, B: 0.05}, Size: 0.05, Contrast: 0.5, Persistence: 0.9, Seed: 2}}
		return w
	},
}

// Both ends lie within 0.1 % of the picture width of the truth in every scene, or
// have no value.
func TestParallaxOfDrawnScenes(t *testing.T) {
	const tolerance = 0.1
	few := map[string]bool{"bricks": true, "night": true, "smoke": true, "target": true, "corridor": true}
	every := synth.LongSweeps()
	rigs := map[string]synth.Rig{
		"lined up":   {},
		"turned":     {Picture: synth.PictureError{Roll: 1, Zoom: 1, Shift: 1}},
		"misaligned": {Camera: synth.CameraError{Tilt: 0.2, Pan: 0.3, Height: 0.05, Roll: -0.5}},
		"wide":       {Interaxial: 0.15},
	}
	for _, s := range append([]synth.Scene{smallBall, thinPole}, synth.Scenes...) {
		drawn := s.Name == smallBall.Name || s.Name == thinPole.Name
		for name, rig := range rigs {
			if drawn && name != "lined up" {
				continue
			}
			if !every && (name == "turned") != (s.Name == "bricks") || !every && name != "turned" && name != "lined up" {
				continue
			}
			if !every && !drawn && !few[s.Name] {
				continue
			}
			t.Run(fmt.Sprintf("%s, %s", s.Name, name), func(t *testing.T) {
				left, right, truth := synth.Shot{Scene: s, Rig: rig, Noise: 2, Seed: 3, Chroma: synth.NoChroma}.Render(0.5)
				near, far := parallaxOf(t, left, right)
				if s.Name == "night" && !near.OK() {
					// Most of it drowns in the noise.
					require.Equal(t, "too little of the picture tells its parallax", near.Missing)
					require.Equal(t, near.Missing, far.Missing)
					return
				}
				require.True(t, near.OK() && far.OK(), near.Missing)
				t.Logf("near %.3f ± %.3f %%, truth %.3f; far %.3f ± %.3f %%, truth %.3f",
					near.Value, near.SE, truth.Parallax(1), far.Value, far.SE, truth.Parallax(99))
				within := tolerance
				if s.Name == "landscape" && (name == "turned" || name == "misaligned") {
					// The empty sky is a third of the picture, and a turned picture adds
					// to its parallax what it does not tell.
					within = 2 * max(near.SE, far.SE)
					require.Less(t, within, 0.7)
				}
				require.InDelta(t, truth.Parallax(1), near.Value, within)
				require.InDelta(t, truth.Parallax(99), far.Value, within)
				require.Less(t, math.Abs(near.Value-truth.Parallax(1)), 3*near.SE)
				require.Less(t, math.Abs(far.Value-truth.Parallax(99)), 3*far.SE)
				if drawn {
					// The ball is too small for the first percentile, not for the spread.
					spread, reason := (&metrics.Pair{Left: left, Right: right}).Spread()
					require.Empty(t, reason)
					require.InDelta(t, truth.Parallax(depth.SpreadPercentiles[0]), spread.Parallax[0], tolerance)
					require.Greater(t, spread.Coverage, 0.6)
					want := synth.Vec{X: 50 + 100*1.1*-0.3/2.6}
					if s.Name == smallBall.Name {
						want = synth.Vec{X: 50 + 100*1.1*0.4/2.6, Y: 50 + 100*1.1*960/540*0.2/2.6}
						require.InDelta(t, want.Y, spread.Near.Y, 3)
					}
					require.InDelta(t, want.X, spread.Near.X, 3)
				}
			})
		}
	}
}

// BenchmarkParallax reports what the dense map, and all that is told of depth, cost
// in correspondences of the same pair: at most 1 is wanted. The quickest of its
// rounds count, since what else the machine does only adds to them.
func BenchmarkParallax(b *testing.B) {
	left, right := benchPair(b)
	offset, _ := metrics.Lookup("vertical_offset")
	matching, dense, depth := time.Hour, time.Hour, time.Hour
	for b.Loop() {
		p := &metrics.Pair{Left: left, Right: right}
		start := time.Now()
		p.Matches()
		matching = min(matching, time.Since(start))
		offset.Measure(p)
		start = time.Now()
		near, _ := metrics.Lookup("near_parallax")
		near.Measure(p)
		dense = min(dense, time.Since(start))
		for _, name := range []string{"far_parallax", "edge_violation", "focus_parallax"} {
			metric, _ := metrics.Lookup(name)
			metric.Measure(p)
		}
		p.Spread()
		depth = min(depth, time.Since(start))
	}
	b.ReportMetric(float64(dense)/float64(matching), "of-matches")
	b.ReportMetric(float64(depth)/float64(matching), "depth-of-matches")
}
