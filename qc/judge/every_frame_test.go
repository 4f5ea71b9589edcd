package judge

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/coarse"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

// A clip of 240 frames at 24 a second whose right eye is lower, or brighter, for one second.
func TestWhatLastsForASecond(t *testing.T) {
	set, _ := LookupLimits("viewer")
	viewer, _ := set.Limits().On(screen.Screen{})
	for name, test := range map[string]struct {
		offset, exposure float64
		want             []string
	}{
		"nothing": {},
		"lower": {offset: 1.6, want: []string{
			"The right eye is 17 px (1.6 %) low for 1 s. Reposition it in post, and line up the rig before the next shot.",
			"Vertical offset changes by +17 px (1.6 %) within the shot. Something on the rig is loose or slipping: check its fastenings; correct the shot with keyframes.",
		}},
		"brighter": {exposure: 0.8, want: []string{
			"Exposure changes by +0.8 stops within the shot. Match it along the shot with keyframes, and check that both irises and shutters are locked or linked.",
		}},
	} {
		t.Run(name, func(t *testing.T) {
			r := recordOf(clean(nil))
			r.Header.Left.Frames, r.Header.Right.Frames = 240, 240
			r.Every = &coarse.Series{}
			within := func(i int, v float64) float64 {
				if i >= 100 && i < 124 {
					return v
				}
				return 0
			}
			for i := range 240 {
				r.Every.Add(coarse.Reading{
					Offset: within(i, test.offset), OffsetSE: 0.005, RollSE: 0.005, ZoomSE: 0.01,
					Exposure: within(i, test.exposure), ExposureSE: 0.005, Places: 100,
				})
			}
			for k := range r.Moments {
				i := 5 + 10*k
				r.Moments[k].Frame = i
				r.Moments[k].Values[metrics.VerticalOffset] = stat.Measured(within(i, test.offset), 0.003)
				r.Moments[k].Values[metrics.Exposure] = stat.Measured(within(i, test.exposure), 0.003)
			}
			var got []string
			for _, f := range Clips([]record.Record{r}, viewer)[0].Findings {
				got = append(got, f.Detail)
				require.Equal(t, 100, f.FrameTo-23*unit(f.Limit.Statistic == Stretch), "%s", f.Limit.Statistic)
			}
			require.Equal(t, test.want, got)
		})
	}
}

func unit(is bool) int {
	if is {
		return 1
	}
	return 0
}

// Key frames undo what each frame shows: a picture 1.6 % of 1080 lines low is moved up by
// 17.28 px there, and nowhere else.
func TestKeyFramesOfAChangingShot(t *testing.T) {
	r := recordOf(clean(nil))
	r.Header.Left.Frames, r.Header.Right.Frames = 240, 240
	r.Every = &coarse.Series{First: 2}
	truth := func(frame int) float64 { return 1.6 * float64(unit(frame >= 100 && frame < 124)) }
	for i := range 238 {
		if i == 150 {
			r.Every.Add(coarse.Reading{}) // nothing is known of it
			continue
		}
		r.Every.Add(coarse.Reading{Offset: truth(i+2) + 0.1, OffsetSE: 0.005, RollSE: 0.005, ZoomSE: 0.01, Places: 100})
	}
	for k := range r.Moments {
		r.Moments[k].Frame = 5 + 10*k
		for _, name := range []string{metrics.Roll, metrics.Zoom} {
			r.Moments[k].Values[name] = stat.Measured(0, 0.003)
		}
		r.Moments[k].Values[metrics.VerticalOffset] = stat.Measured(truth(5+10*k), 0.003)
	}
	table := OverTimeTable(r, nil)
	require.Len(t, table, 239)
	require.Equal(t, OverTimeColumns, table[0])
	for _, row := range table[1:] {
		frame, err := strconv.Atoi(row[0])
		require.NoError(t, err)
		down, err := strconv.ParseFloat(row[7], 64)
		require.NoError(t, err)
		require.InDelta(t, -truth(frame)/100*1080, down, 0.02, "frame %d", frame)
		require.Equal(t, "1.000000", row[3])
		require.Empty(t, row[8], "no light was told")
	}
	require.Equal(t, "2", table[1][0])
	r.Every = nil
	require.Nil(t, OverTimeTable(r, nil))
}
