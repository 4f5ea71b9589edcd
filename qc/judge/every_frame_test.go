package judge

import (
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
