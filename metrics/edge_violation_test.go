package metrics_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/depth"
	"nightpair/metrics/synth"
)

// violationScene is a yard behind the screen with a post at a place, 1.6 m high, which
// reaches from below the picture to above its middle.
func violationScene(name string, x, z float64) synth.Scene {
	return synth.Scene{
		Name: name, Interaxial: 0.065, Focal: 1.1, Convergence: 4,
		World: func(float64) synth.World {
			wood := synth.Paint{Base: synth.RGB{R: 0.2, G: 0.11, B: 0.05}, Second: synth.RGB{R: 0.42, G: 0.26, B: 0.13}, Size: 0.1, Contrast: 0.4, Persistence: 0.8, Seed: 5}
			wall := synth.Paint{Base: synth.RGB{R: 0.35, G: 0.3, B: 0.24}, Second: synth.RGB{R: 0.5, G: 0.46, B: 0.4}, Size: 0.5, Contrast: 0.4, Persistence: 0.8, Seed: 6}
			return synth.World{
				Things: []synth.Thing{
					{Shape: synth.Panel, At: synth.Vec{Z: 8}, Size: synth.Vec{X: 20, Y: 12}, Paint: wall},
					{Shape: synth.Post, At: synth.Vec{X: x, Y: 0.65, Z: z}, Size: synth.Vec{X: 0.4, Y: 1.6}, Paint: wood},
				},
				Sun: synth.Vec{X: 0.2, Y: -0.5, Z: -0.8}, Ambient: 0.6,
			}
		},
	}
}

// trueViolation returns how much of a side edge crops what is in front of the screen by
// at least front, and how far in front the nearest of it is, in % of the width.
func trueViolation(t *synth.Truth, left bool, front float64) (share, nearest float64) {
	f := t.Field()
	rows := 0
	for y := range f.Height {
		for i := range f.Width {
			x := i
			if !left {
				x = f.Width - 1 - i
			}
			k := y*f.Width + x
			if !f.Seen[k] {
				continue
			}
			if p := 100 * float64(f.Parallax[k]) / float64(f.Width); p < -front {
				rows++
				nearest = min(nearest, p)
			}
			break
		}
	}
	return 100 * float64(rows) / float64(f.Height), nearest
}

func TestEdgeViolation(t *testing.T) {
	metric, ok := metrics.Lookup("edge_violation")
	require.True(t, ok)
	// At 2.5 m half the picture is 2.5/2.2 m wide.
	for _, c := range []struct {
		name, edge string
		x, z       float64
	}{
		{"left edge, in front", "left", -2.5 / 2.2, 2.5},
		{"right edge, in front", "right", 2.5 / 2.2, 2.5},
		{"left edge, behind", "", -5.5 / 2.2, 5.5},
		{"right edge, behind", "", 5.5 / 2.2, 5.5},
		{"in front, not at an edge", "", 0.6, 2.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			left, right, truth := synth.Shot{Scene: violationScene(c.name, c.x, c.z), Noise: 1.5, Seed: 2, Chroma: synth.NoChroma}.Render(0)
			p := &metrics.Pair{Left: left, Right: right}
			m := metric.Measure(p)
			require.True(t, m.OK(), m.Missing)
			violations, reason := p.EdgeViolations()
			require.Empty(t, reason)
			var sides []depth.EdgeViolation
			for _, v := range violations {
				if v.Edge == "left" || v.Edge == "right" {
					sides = append(sides, v)
				} else {
					require.Equal(t, "bottom", v.Edge)
				}
			}
			if c.edge == "" {
				require.Empty(t, sides)
				require.Zero(t, m.Value)
				return
			}
			share, nearest := trueViolation(truth, c.edge == "left", 0.5)
			t.Logf("%.1f ± %.1f %% of the height, truth %.1f; %v, truth %.3f %%", m.Value, m.SE, share, sides, nearest)
			require.InDelta(t, share, m.Value, 2.5)
			require.Len(t, sides, 1)
			require.Equal(t, c.edge, sides[0].Edge)
			require.InDelta(t, 100-share, sides[0].From, 2.5)
			require.InDelta(t, 100, sides[0].To, 1)
			eye, width := sides[0].Mask()
			require.Equal(t, c.edge, eye, "the eye to mask")
			require.InDelta(t, -nearest, width, 100.0/960, "one pixel")
		})
	}
}

// The drawn scenes violate the window only where the truth says. Where heads and leaves end
// just before the edge, what stands in front seems larger to matching than it is.
func TestEdgeViolationOfDrawnScenes(t *testing.T) {
	metric, _ := metrics.Lookup("edge_violation")
	type moment struct{ at, convergence float64 }
	moments := map[string][]moment{
		"portrait": {{at: 0.5}}, "corridor": {{at: 0.5}},
		"foliage": {{at: 0.5}, {3.5, 5.5}}, "crowd": {{2.5, 5.5}},
	}
	sweep := []moment{{at: 0}, {0.5, 5.5}, {at: 1}, {1.5, 5.5}, {at: 2}, {2.5, 5.5}, {at: 3}, {3.5, 5.5}}
	for _, s := range synth.Scenes {
		list := moments[s.Name]
		if synth.LongSweeps() {
			list = []moment{{at: 0.5}}
			if len(moments[s.Name]) > 0 {
				list = append(list, sweep...)
			}
		}
		for _, when := range list {
			t.Run(fmt.Sprintf("%s at %v, converged %v", s.Name, when.at, when.convergence), func(t *testing.T) {
				shot := synth.Shot{Scene: s, Noise: 1, Seed: 4, Chroma: synth.NoChroma}
				shot.Rig.Convergence = when.convergence
				left, right, truth := shot.Render(when.at)
				m := metric.Measure(&metrics.Pair{Left: left, Right: right})
				require.True(t, m.OK(), m.Missing)
				// What lies just at the bound may be counted or not.
				var low, high float64
				for _, side := range []bool{true, false} {
					smallest, _ := trueViolation(truth, side, 0.55)
					largest, _ := trueViolation(truth, side, 0.45)
					low, high = max(low, smallest), max(high, largest)
				}
				t.Logf("%.1f ± %.1f %% of the height, truth %.1f to %.1f", m.Value, m.SE, low, high)
				require.GreaterOrEqual(t, m.Value, low-max(3, 2*m.SE))
				require.LessOrEqual(t, m.Value, high+3)
				require.False(t, math.IsNaN(m.SE))
			})
		}
	}
}

// A right picture that is turned and too large has parallax in front of the
// screen along its edges, which is no violation of the window.
func TestEdgeViolationOfATurnedPicture(t *testing.T) {
	metric, _ := metrics.Lookup("edge_violation")
	shot := synth.Shot{Scene: scene(t, "target"), Noise: 1, Seed: 4, Chroma: synth.NoChroma}
	shot.Rig.Picture = synth.PictureError{Roll: 1.6, Zoom: 3.6}
	left, right, truth := shot.Render(0)
	share, _ := trueViolation(truth, true, 0.5)
	require.Greater(t, share, 30.0, "as the eyes see it")
	m := metric.Measure(&metrics.Pair{Left: left, Right: right})
	require.True(t, m.OK(), m.Missing)
	require.Zero(t, m.Value)
}
