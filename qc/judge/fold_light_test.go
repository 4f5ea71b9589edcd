package judge

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/light"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

func TestJudgeLight(t *testing.T) {
	limits, ok := LookupLimits("rig")
	require.True(t, ok)
	rig, _ := limits.Limits().On(screen.Screen{})
	missing := func(names ...string) map[string][]stat.Measurement {
		all := map[string][]stat.Measurement{}
		for _, name := range names {
			for range 24 {
				all[name] = append(all[name], stat.Missing("the eyes' pictures have too little in common"))
			}
		}
		return all
	}
	with := func(all map[string][]stat.Measurement, name string, value, se float64) map[string][]stat.Measurement {
		all[name] = steady(24, value, se)
		return all
	}
	set := func(pairs ...any) map[string][]stat.Measurement {
		all := map[string][]stat.Measurement{}
		for i := 0; i < len(pairs); i += 2 {
			all[pairs[i].(string)] = steady(24, pairs[i+1].(float64), 0.02)
		}
		return all
	}
	for _, c := range []struct {
		name   string
		values map[string][]stat.Measurement
		want   []string
	}{
		{"clean", set("red_balance", 0.02, "black_lift", 0.1, "colour_difference", 1.0, "softness", 0.1, "rivalry", 0.1, "blank", 0.0), nil},
		{"darker, and so of another colour", set("exposure", -0.5, "colour_difference", 7.0), []string{"fail exposure median post"}},
		{"another colour that is no balance", set("colour_difference", 4.0), []string{"warn colour_difference median post"}},
		{"redder", set("red_balance", 0.3, "colour_difference", 5.0), []string{"fail red_balance median post"}},
		{"lifted", set("black_lift", 3.0), []string{"fail black_lift median post"}},
		{"the right range missed", set("exposure", -0.52, "black_lift", 6.13, "red_balance", 0.01, "blue_balance", 0.01, "colour_difference", 7.0), []string{"fail black_lift median post"}},
		{"soft", set("softness", 1.0, "softness_near", 0.9, "softness_far", 1.1), []string{"warn softness median reshoot"}},
		{"soft, and its noise with it", with(set("softness", 2.0), "noise", -85, 2), []string{"fail softness median reshoot"}},
		{"soft, and its blacks with it", set("softness", 3.0, "black_lift", 1.5, "exposure", -0.13), []string{"fail softness median reshoot"}},
		{"soft, and brighter besides", set("softness", 3.0, "exposure", 0.5), []string{"fail softness median reshoot", "fail exposure median post"}},
		{"focused apart", set("softness", 0.6, "softness_near", 1.2, "softness_far", -0.2), []string{"warn softness_near median reshoot"}},
		{"reflections", set("rivalry", 3.0), []string{"warn rivalry highest reshoot"}},
		{"a black eye", with(missing("vertical_offset", "roll", "exposure", "near_parallax"), "blank", 100, 3), []string{"fail blank highest reshoot"}},
		{"half a picture of the left eye", set("blank", -30.0), []string{"fail blank lowest reshoot"}},
		{"combed", set("combing", 4.0, "black_lift", 4.0, "softness", -2.0), []string{"fail combing highest post"}},
		{"written on", set("overlay", 0.9), []string{"fail overlay median reshoot"}},
		{"clipped", set("clipping", 2.0), []string{"warn clipping median reshoot"}},
		{"noisy", with(set(), "noise", 420, 15), []string{"warn noise median post"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.values["exposure"] == nil {
				c.values["exposure"] = steady(24, 0.02, 0.02)
			}
			v := Clips([]record.Record{recordOf(clean(c.values))}, rig)[0]
			got := told(v)
			if c.want == nil {
				require.Empty(t, got)
				return
			}
			require.Equal(t, c.want, got)
		})
	}

	r := recordOf(clean(set("exposure", 0.53, "black_lift", -6.2)))
	require.Equal(t, -1, rangeSlip(r))
	v := Clips([]record.Record{r}, rig)[0]
	require.Equal(t, "The range flag of one eye's file is wrong: the left eye shows narrow-range values as full range, or the right eye full-range values as narrow range. Correct the flag, not the picture.",
		v.Findings[0].Detail)
	require.Zero(t, rangeSlip(recordOf(clean(set("exposure", 0.53, "black_lift", -6.2, "red_balance", 0.3)))), "a range has no colour")
	require.InDelta(t, rangeExposure, 2.4*math.Log2(219.0/255), 1e-3)
	require.InDelta(t, rangeLift, 100*16.0/255, 0.01)
}

// mapped returns a record with a rivalry map in each moment.
func mapped(share func(moment, x, y int) byte) record.Record {
	r := recordOf(clean(map[string][]stat.Measurement{"rivalry": steady(24, 3, 0.02)}))
	for i := range r.Moments {
		m := make(metrics.RivalryMap, metrics.RivalryColumns*metrics.RivalryRows)
		for at := range m {
			m[at] = share(i, at%metrics.RivalryColumns, at/metrics.RivalryColumns)
		}
		r.Moments[i].Rivalry = m
	}
	return r
}

func TestRivalryCause(t *testing.T) {
	in := func(yes bool) byte {
		if yes {
			return 90
		}
		return 0
	}
	for _, c := range []struct {
		share func(moment, x, y int) byte
		want  string
	}{
		{func(_, x, y int) byte { return in((x < 4 || x > 27) && (y < 4 || y > 13)) }, "Look for a vignette of one lens or the mirror's edge: it lies in the corners."},
		{func(_, x, y int) byte { return in(x >= 5 && x < 8 && y >= 3 && y < 6) }, "Look for dirt or a drop on a lens or on the glass: it stays at the top left."},
		{func(m, x, y int) byte { return in(x >= m && x < m+4 && y > 13) }, "Look for flare, or a reflection that the mirror shows one camera alone: it lies at the bottom."},
		{func(_, x, y int) byte { return in(y < 6) }, "Look for flare, or a reflection that the mirror shows one camera alone: it lies at the top."},
		{func(int, int, int) byte { return 0 }, ""},
	} {
		require.Equal(t, c.want, rivalryCause(mapped(c.share)))
	}
	require.Empty(t, rivalryCause(recordOf(clean(nil))))
}

func TestColourDecision(t *testing.T) {
	r := recordOf(clean(nil))
	require.NotEmpty(t, colourDecision(r).Missing)
	for i := range r.Moments {
		var s light.Swatches
		for k := range 60 {
			v := 0.1 + 0.012*float64(k) + 0.001*float64(i)
			left := [3]float64{v, 0.9 * v, 0.8 * v}
			var right [3]float64
			for c := range right {
				right[c] = 0.8*left[c] + 0.03
			}
			s.Places = append(s.Places, light.Swatch{Left: left, Right: right})
		}
		r.Moments[i].Swatches = &s
	}
	d := Correct(r, nil).Colour
	require.Empty(t, d.Missing)
	for c := range 3 {
		require.InDelta(t, 1.25, d.Grade.Slope[c], 1e-6)
		require.InDelta(t, -0.0375, d.Grade.Offset[c], 1e-6)
	}
	require.Greater(t, d.Before.Value, 2.0)
	require.InDelta(t, 0, d.After.Value, 1e-3)
	require.InDelta(t, 0, d.Exposure.Value, 1e-4)
	for i := range r.Moments {
		for k, p := range r.Moments[i].Swatches.Places {
			r.Moments[i].Swatches.Places[k].Right = p.Left
		}
	}
	require.Equal(t, "no colour decision matches the eyes any better", colourDecision(r).Missing)
}
