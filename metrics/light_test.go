package metrics_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
)

var lightNames = []string{"exposure", "red_balance", "blue_balance", "black_lift"}

// everyday lists scenes to measure light on; the first few stand for them all.
var everyday = []string{"yard", "portrait", "street", "crowd", "corridor", "foliage", "bricks", "stairs", "posts", "landscape", "blinds", "water", "target", "ground"}

// rivalrous changes 15 % of a right eye's picture: a reflection that only it sees,
// and something else that stands there.
func rivalrous(f *exposedFilm) *exposedFilm {
	out := f.within(0.05, 0.20, 0.35, 0.50, func(x, y int, light []float32) {
		for c := range light {
			light[c] = 0.9*light[c] + 0.15
		}
	})
	return out.within(0.60, 0.55, 0.80, 0.85, func(x, y int, light []float32) {
		at := 3 * ((f.height-1-y)*f.width + f.width/2 - 1 - x/2)
		copy(light, f.pix[at:at+3])
	})
}

// Differences put into drawn pairs in linear light: gains of up to two stops, 5 %
// of the picture clipped in the brighter eye, a lifted black in either, 15 % of the
// picture showing something else in the right eye, noise, and 4:2:0.
func TestLightOfDrawnPairs(t *testing.T) {
	// Wanted by the project: 0.02 stops and 0.2 % of full scale. With noise or with
	// a sixth of the range left, three standard errors where they are more.
	const stops, percent = 0.02, 0.2
	cases := []struct {
		name        string
		left, right developing
		rival       bool
	}{
		{"the same", developing{}, developing{}, false},
		{"two stops more", developing{exposure: -2}, developing{red: 0.2, blue: -0.15}, true},
		{"two stops less", developing{}, developing{exposure: -2, red: -0.3, blue: 0.25}, true},
		{"one stop more and lifted", developing{exposure: -1}, developing{lift: 4}, true},
		{"lifted left eye", developing{exposure: -0.5, lift: 3, blue: 0.1}, developing{}, true},
		{"noise", developing{exposure: -1, noise: 1.5, seed: 1}, developing{noise: 1.5, seed: 2, lift: 2, red: 0.1}, true},
	}
	scenes := everyday
	if !synth.LongSweeps() {
		scenes = scenes[:3]
	}
	var worst, outOf [4]float64
	for _, name := range scenes {
		left, right := filmed(t, name)
		changed := rivalrous(right)
		clip := -math.Log2(left.bright(0.05))
		for _, c := range cases {
			t.Run(name+", "+c.name, func(t *testing.T) {
				l, r, film := c.left, c.right, right
				l.exposure, r.exposure = l.exposure+clip, r.exposure+clip
				l.layout, r.layout = picture.YCbCr, picture.YCbCr
				if c.rival {
					film = changed
				}
				p := &metrics.Pair{Left: left.develop(l), Right: film.develop(r)}
				got := readings(t, p, lightNames...)
				t.Log(describe(lightNames, got))
				for i, want := range []float64{r.exposure - l.exposure, r.red - l.red, r.blue - l.blue, r.lift - l.lift} {
					m := got[i]
					require.True(t, m.OK(), "%s: %s", lightNames[i], m.Missing)
					tolerance := stops
					if i == 3 {
						tolerance = percent
					}
					off := math.Abs(m.Value - want)
					require.LessOrEqual(t, off, max(tolerance, 3*m.SE), lightNames[i])
					require.LessOrEqual(t, m.SE, 2*tolerance, lightNames[i])
					worst[i], outOf[i] = max(worst[i], off), max(outOf[i], off/m.SE)
				}
			})
		}
	}
	t.Logf("worst errors: %.4f stops, %.4f, %.4f, %.3f %%; in standard errors %.1f", worst[0], worst[1], worst[2], worst[3], outOf)
}

// The same on an open pair, against its own reading.
func TestLightOfMotorcycle(t *testing.T) {
	left, right := motorcycleFilm(t)
	coded := func(d developing, layout picture.Layout) developing {
		d.layout = layout
		if layout == picture.RGB {
			d.curve, d.bits = picture.SRGB, 8
		}
		return d
	}
	own := map[picture.Layout][]stat.Measurement{}
	for _, layout := range []picture.Layout{picture.RGB, picture.YCbCr} {
		// A lift of the signal is another one by another curve.
		plain := coded(developing{}, layout)
		own[layout] = readings(t, &metrics.Pair{Left: left.develop(plain), Right: right.develop(plain)}, lightNames...)
		t.Log(describe(lightNames, own[layout]))
	}
	for name, c := range map[string]struct{ left, right developing }{
		"two stops more":  {developing{exposure: -2.2}, developing{exposure: -0.2, red: 0.2, blue: -0.1}},
		"two stops less":  {developing{}, developing{exposure: -2, red: -0.2, blue: 0.2}},
		"lifted":          {developing{}, developing{exposure: -0.5, lift: 4}},
		"lifted left eye": {developing{lift: 3}, developing{exposure: 0.2}},
	} {
		for _, layout := range []picture.Layout{picture.RGB, picture.YCbCr} {
			t.Run(name, func(t *testing.T) {
				l, r := coded(c.left, layout), coded(c.right, layout)
				got := readings(t, &metrics.Pair{Left: left.develop(l), Right: right.develop(r)}, lightNames...)
				t.Log(describe(lightNames, got))
				for i, want := range []float64{r.exposure - l.exposure, r.red - l.red, r.blue - l.blue, r.lift - l.lift} {
					require.True(t, got[i].OK(), got[i].Missing)
					tolerance, before := 0.02, own[layout][i].Value
					if i == 3 {
						// The pair's own lift is in the light and changes with it.
						tolerance, before = 0.2, before*math.Exp2(l.exposure/2.4)
					}
					require.InDelta(t, want+before, got[i].Value, tolerance, lightNames[i])
				}
			})
		}
	}
}

// Exchanging the eyes turns the signs, also of a lift seen through a gain.
func TestLightOfExchangedEyes(t *testing.T) {
	left, right := filmed(t, "yard")
	l := left.develop(developing{exposure: -1, layout: picture.YCbCr})
	r := right.develop(developing{lift: 4, red: 0.2, layout: picture.YCbCr})
	there := readings(t, &metrics.Pair{Left: l, Right: r}, lightNames...)
	back := readings(t, &metrics.Pair{Left: r, Right: l}, lightNames...)
	for i := range there {
		require.InDelta(t, -there[i].Value, back[i].Value, 3*math.Hypot(there[i].SE, back[i].SE), lightNames[i])
	}
}

// Narrow range shown as full: black at 16/255, white at 235/255, so a gain of
// 0.8588 and a lift of 6.27 % of the signal.
func TestLightOfMissedRange(t *testing.T) {
	left, right := filmed(t, "yard")
	fine := developing{layout: picture.YCbCr, bits: 8}
	wrong := fine
	wrong.missed = true
	got := readings(t, &metrics.Pair{Left: left.develop(fine), Right: right.develop(wrong)}, lightNames...)
	t.Log(describe(lightNames, got))
	require.InDelta(t, 2.4*math.Log2(219.0/255), got[0].Value, 0.02)
	// Under the wrong range a change of the signal is no change of light alone.
	require.InDelta(t, 0, got[1].Value, 0.03)
	require.InDelta(t, 0, got[2].Value, 0.03)
	require.InDelta(t, 100*16.0/255, got[3].Value, 0.2)
}

// A picture without any range says so instead of guessing.
func TestLightWithoutRange(t *testing.T) {
	left, right := filmed(t, "yard")
	for _, c := range []struct {
		name   string
		change developing
		reason string
	}{
		{"nearly black", developing{exposure: -12, layout: picture.YCbCr}, "too few matched places that are neither black nor clipped"},
		{"nearly white", developing{exposure: 6, layout: picture.YCbCr}, "too few matched places that are neither black nor clipped"},
	} {
		got := readings(t, &metrics.Pair{Left: left.develop(c.change), Right: right.develop(c.change)}, "exposure")
		require.False(t, got[0].OK(), c.name)
		require.NotEmpty(t, got[0].Missing)
	}
	grey, greyRight := left.develop(developing{layout: picture.YCbCr}), right.develop(developing{layout: picture.YCbCr})
	grey.Planes, greyRight.Planes = grey.Planes[:1], greyRight.Planes[:1]
	grey.Layout, greyRight.Layout = picture.Grey, picture.Grey
	got := readings(t, &metrics.Pair{Left: grey, Right: greyRight}, "exposure", "red_balance", "black_lift")
	require.True(t, got[0].OK())
	require.Equal(t, "the picture has no colour", got[1].Missing)
	require.True(t, got[2].OK())
}

// At night, and in a scene underexposed by five stops, most is black and noisy. What
// lamps light can still be measured, with a larger standard error.
func TestLightInTheDark(t *testing.T) {
	for _, c := range []struct {
		scene    string
		exposure float64
		noise    float64 // see synth.Shot
		within   float64 // the largest standard error
	}{
		{"night", 0, 1, 0.05},
		{"night", 0, 2, 0.06},
		{"yard", -5, 1, 0.11},
		{"street", -3.5, 2, 0.1},
	} {
		t.Run(fmt.Sprintf("%s, %+v stops, noise %v", c.scene, c.exposure, c.noise), func(t *testing.T) {
			shot := synth.Shot{
				Scene: scene(t, c.scene), Noise: c.noise, Chroma: synth.Chroma420,
				Left: synth.Light{Exposure: c.exposure}, Right: synth.Light{Exposure: c.exposure - 0.3, Red: 0.1},
			}
			left, right, _ := shot.Render(0.5)
			got := readings(t, &metrics.Pair{Left: left, Right: right}, lightNames...)
			t.Log(describe(lightNames, got))
			for i, want := range []float64{-0.3, 0.1, 0, 0} {
				require.True(t, got[i].OK(), got[i].Missing)
				require.InDelta(t, want, got[i].Value, 2.5*got[i].SE, lightNames[i])
				if i == 0 {
					require.Less(t, got[i].SE, c.within)
				}
			}
		})
	}
}

// Noise as strong as what is dark lifts some of it over any bound: what is looked at must
// not be chosen by one eye.
func TestLightOfNights(t *testing.T) {
	left, right := filmedAt(t, "night", 1920)
	for seed := uint64(1); seed < 6; seed += 2 {
		l := developing{layout: picture.YCbCr, noise: 1.5, seed: seed}
		r := developing{layout: picture.YCbCr, noise: 1.5, seed: seed + 1, exposure: -0.5}
		got := readings(t, &metrics.Pair{Left: left.develop(l), Right: right.develop(r)}, lightNames...)
		t.Log(describe(lightNames, got))
		for i, want := range []float64{-0.5, 0, 0, 0} {
			require.InDelta(t, want, got[i].Value, 3*got[i].SE, lightNames[i])
		}
		require.Less(t, got[0].SE, 0.06)
	}
}

// A soft eye shows less contrast, but neither less light nor a lifted black.
func TestLightOfASoftEye(t *testing.T) {
	scenes := everyday
	if !synth.LongSweeps() {
		scenes = []string{"bricks", "stairs"}
	}
	for _, name := range scenes {
		left, right := filmedAt(t, name, 1920)
		for _, blur := range []float64{1, -3, 6} {
			t.Run(fmt.Sprintf("%s, %+v px", name, blur), func(t *testing.T) {
				l := developing{layout: picture.YCbCr, noise: 1, seed: 3, blur: max(-blur, 0)}
				r := developing{layout: picture.YCbCr, noise: 1, seed: 4, blur: max(blur, 0), exposure: -0.5, red: 0.1}
				got := readings(t, &metrics.Pair{Left: left.develop(l), Right: right.develop(r)}, lightNames...)
				t.Log(describe(lightNames, got))
				for i, want := range []float64{-0.5, 0.1, 0, 0} {
					tolerance := 0.02
					if i == 3 {
						tolerance = 0.2
					}
					if blur > 3 {
						tolerance *= 1.5
					}
					require.InDelta(t, want, got[i].Value, max(tolerance, 3*got[i].SE), lightNames[i])
					require.LessOrEqual(t, got[i].SE, tolerance/2, lightNames[i])
				}
			})
		}
	}
}

// The same light, written by other curves.
func TestLightOfOtherCurves(t *testing.T) {
	left, right := filmed(t, "yard")
	for _, curve := range []picture.Transfer{picture.SRGB, picture.PQ, picture.Linear} {
		fine := developing{layout: picture.RGB, bits: 12, curve: curve}
		dark := fine
		dark.exposure, dark.red, dark.blue = -1, 0.2, -0.1
		got := readings(t, &metrics.Pair{Left: left.develop(fine), Right: right.develop(dark)}, lightNames...)
		t.Log(curve, describe(lightNames, got))
		for i, want := range []float64{-1, 0.2, -0.1, 0} {
			require.True(t, got[i].OK(), got[i].Missing)
			tolerance := 0.02
			if i == 3 {
				tolerance = 0.2
			}
			tolerance = max(tolerance, 2.5*got[i].SE)
			require.InDelta(t, want, got[i].Value, tolerance, "%s by curve %d", lightNames[i], curve)
		}
	}
}

func TestColourDifference(t *testing.T) {
	left, right := filmed(t, "yard")
	base := developing{layout: picture.YCbCr}
	for _, c := range []struct {
		name      string
		change    developing
		low, high float64
	}{
		{"none", developing{}, 0, 0.4},
		{"a stop", developing{exposure: -1}, 8, 16},
		{"warmer", developing{red: 0.2, blue: -0.2}, 2, 8},
	} {
		c.change.layout = picture.YCbCr
		p := &metrics.Pair{Left: left.develop(base), Right: right.develop(c.change)}
		got := readings(t, p, "colour_difference")[0]
		t.Log(c.name, got)
		require.True(t, got.OK())
		require.Greater(t, got.Value, c.low)
		require.Less(t, got.Value, c.high, c.name)
	}
}
