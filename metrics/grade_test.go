package metrics_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/light"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// Worked by hand from the ASC CDL, version 1.2, with the luma of BT.709.
func TestGradeApply(t *testing.T) {
	g := light.Grade{
		Slope: [3]float64{1.2, 1, 0.9}, Offset: [3]float64{-0.05, 0, 0.02}, Power: [3]float64{0.9, 1, 1.1}, Saturation: 0.8,
	}
	for c, want := range [3]float64{0.552850, 0.405743, 0.290730} {
		require.InDelta(t, want, g.Apply([3]float64{0.5, 0.4, 0.3})[c], 5e-7)
	}
	g = light.Grade{
		Slope: [3]float64{1, 1, 0.9}, Offset: [3]float64{-0.03, -0.02, 0}, Power: [3]float64{1.25, 1, 1}, Saturation: 1,
	}
	grey := [3]float64{0.5, 0.5, 0.5}
	for c, want := range [3]float64{0.389155, 0.48, 0.45} {
		require.InDelta(t, want, g.Apply(grey)[c], 5e-7)
	}
	g.Saturation = 1.7
	for c, want := range [3]float64{0.340599, 0.495036, 0.444036} {
		require.InDelta(t, want, g.Apply(grey)[c], 5e-7)
	}
	// The clamps: before the power, and after the saturation.
	require.Equal(t, [3]float64{0.1, 0.2, 0.3}, light.NoGrade().Apply([3]float64{0.1, 0.2, 0.3}))
	require.Equal(t, [3]float64{0, 1, 0.5}, light.NoGrade().Apply([3]float64{-0.1, 1.2, 0.5}))
}

// graded applies a decision to an RGB frame.
func graded(f *picture.Frame, g light.Grade) *picture.Frame {
	out := retouched(f)
	top := float64(int(1)<<f.Depth - 1)
	for i := range out.Planes[0].Pix {
		var rgb [3]float64
		for c := range rgb {
			rgb[c] = float64(f.Planes[c].Pix[i]) / top
		}
		for c, v := range g.Apply(rgb) {
			out.Planes[c].Pix[i] = uint16(math.Round(v * top))
		}
	}
	return out
}

// A correction is fitted to what the eyes show, applied to the pictures, and
// measured again.
func TestGradeOfPairs(t *testing.T) {
	warm := [3][3]float64{{0.88, 0.10, 0.02}, {0.04, 0.92, 0.04}, {0.02, 0.12, 0.86}}
	scenes := []string{"yard", "portrait", "street", "crowd", "corridor", "foliage"}
	if !synth.LongSweeps() {
		scenes = scenes[:1]
	}
	for _, name := range scenes {
		left, right := filmed(t, name)
		for _, c := range []struct {
			name        string
			left, right developing
			decision    bool // the truth is a colour decision
		}{
			{name: "gain and lift", right: developing{exposure: -0.7, red: 0.2, blue: -0.15, lift: 3}, decision: true},
			{name: "darker left eye", left: developing{exposure: -1, lift: 2}, right: developing{red: -0.2}, decision: true},
			{name: "flare", right: developing{veil: 4}},
			{name: "crosstalk of colours", right: developing{matrix: warm, exposure: 0.2}},
		} {
			t.Run(name+", "+c.name, func(t *testing.T) {
				c.left.layout, c.right.layout, c.left.bits, c.right.bits = picture.RGB, picture.RGB, 12, 12
				l, r := left.develop(c.left), right.develop(c.right)
				p := &metrics.Pair{Left: l, Right: r}
				swatches := p.Swatches(1000)
				g, reason := light.FitGrade(swatches)
				require.Empty(t, reason)
				before := readings(t, p, "colour_difference", "exposure")
				after := readings(t, &metrics.Pair{Left: l, Right: graded(r, g)}, "colour_difference", "exposure", "red_balance", "blue_balance")
				t.Logf("ΔE00 %.2f, then %.2f, foretold %.2f; exposure %.3f then %.3f, foretold %.3f: %+v", before[0].Value, after[0].Value,
					swatches.Difference(g).Value, before[1].Value, after[1].Value, swatches.Exposure(g).Value, g)
				// Wanted by the project: 0.5, and 25 % where no colour decision does it.
				if c.decision {
					require.LessOrEqual(t, after[0].Value, 0.5)
					require.InDelta(t, 0, after[1].Value, 0.03, "exposure")
					require.InDelta(t, 0, after[2].Value, 0.03, "red")
					require.InDelta(t, 0, after[3].Value, 0.03, "blue")
				} else {
					require.LessOrEqual(t, after[0].Value, max(0.25*before[0].Value, 0.5))
				}
				require.InDelta(t, after[0].Value, swatches.Difference(g).Value, 0.25)
				require.InDelta(t, 0, swatches.Exposure(g).Value, 0.05)
			})
		}
	}
}

func TestGradeOfNothing(t *testing.T) {
	g, reason := light.FitGrade(light.Swatches{})
	require.Equal(t, light.NoGrade(), g)
	require.NotEmpty(t, reason)
	require.False(t, light.Swatches{}.Difference(g).OK())
}

func TestSwatchesKeep(t *testing.T) {
	left, right := filmed(t, "yard")
	d := developing{layout: picture.YCbCr}
	s := (&metrics.Pair{Left: left.develop(d), Right: right.develop(d)}).Swatches(100)
	require.Len(t, s.Places, 100)
	text, err := json.Marshal(s)
	require.NoError(t, err)
	var back light.Swatches
	require.NoError(t, json.Unmarshal(text, &back))
	require.Len(t, back.Places, 100)
	for i := range s.Places {
		for c := range 3 {
			require.InDelta(t, s.Places[i].Left[c], back.Places[i].Left[c], 2e-5)
			require.InDelta(t, s.Places[i].Right[c], back.Places[i].Right[c], 2e-5)
		}
	}
	again, err := json.Marshal(back)
	require.NoError(t, err)
	require.Equal(t, string(text), string(again))
	require.Len(t, s.With(back).Places, 200)
	require.Error(t, json.Unmarshal([]byte(`{"signals":"AAAA"}`), &back))
	require.Error(t, json.Unmarshal([]byte(`{"transfer":99,"signals":""}`), &back))
}
