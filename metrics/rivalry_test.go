package metrics_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// Patches of 1 % of the picture that only one eye shows so are found, and where.
func TestRivalryOfPatches(t *testing.T) {
	scenes := []string{"yard", "portrait", "street", "crowd", "corridor", "foliage", "bricks", "stairs", "landscape", "water", "ground"}
	if !synth.LongSweeps() {
		scenes = scenes[:2]
	}
	for _, name := range scenes {
		left, right := filmed(t, name)
		for _, c := range []struct {
			name      string
			gain, add [3]float32 // of light
		}{
			{"half a stop more", [3]float32{1.41, 1.41, 1.41}, [3]float32{}},
			{"half a stop less", [3]float32{0.71, 0.71, 0.71}, [3]float32{}},
			{"a reflection of the sky", [3]float32{0.9, 0.9, 0.9}, [3]float32{0.08, 0.1, 0.12}},
			{"another colour", [3]float32{1.5, 1, 0.8}, [3]float32{}},
		} {
			t.Run(name+", "+c.name, func(t *testing.T) {
				changed := right.within(0.40, 0.50, 0.50, 0.60, func(x, y int, light []float32) {
					for i := range light {
						light[i] = c.gain[i]*light[i] + c.add[i]
					}
				})
				p := &metrics.Pair{
					Left:  left.develop(developing{layout: picture.YCbCr, noise: 1, seed: 1}),
					Right: changed.develop(developing{layout: picture.YCbCr, noise: 1, seed: 2, exposure: -0.3, blue: 0.1}),
				}
				got := readings(t, p, "rivalry")[0]
				t.Log(got)
				require.True(t, got.OK(), got.Missing)
				require.Greater(t, got.Value, 0.35)
				require.Less(t, got.Value, 1.6)
				// Parallax moves it by 1.5 % of the width at most: half a part.
				inside, all := 0, 0
				for i, share := range p.RivalryMap() {
					x, y := i%metrics.RivalryColumns, i/metrics.RivalryColumns
					all += int(share)
					if x >= 11 && x <= 17 && y >= 8 && y <= 11 {
						inside += int(share)
					}
				}
				require.Greater(t, 10*inside, 8*all, "most of it lies where it was put")
			})
		}
	}
}

// Highlights and glints move from eye to eye on anything that shines.
func TestRivalryOfGloss(t *testing.T) {
	glossy := func(s synth.Scene) synth.Scene {
		world := s.World
		s.World = func(t float64) synth.World {
			w := world(t)
			for i := range w.Things {
				w.Things[i].Paint.Gloss = 0.6
			}
			return w
		}
		return s
	}
	// Thin posts leave gaps in which the background's parallax is not found.
	scenes := []string{"posts", "water"}
	if synth.LongSweeps() {
		scenes = nil
		for _, s := range synth.Scenes {
			scenes = append(scenes, s.Name)
		}
	}
	for _, name := range scenes {
		shot := synth.Shot{Scene: glossy(scene(t, name)), Noise: 1, Right: synth.Light{Exposure: -0.2}}
		left, right, _ := shot.Render(0.5)
		p := &metrics.Pair{Left: left, Right: right}
		got := readings(t, p, "rivalry")[0]
		t.Log(name, got)
		require.True(t, got.OK(), got.Missing)
		require.Less(t, got.Value, 0.2, name)
		if got.Value == 0 {
			require.Nil(t, p.RivalryMap())
		}
	}
}
