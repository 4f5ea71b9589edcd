package judge

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/depth"
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
	"nightpair/qc/pull"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

func depths(near, middle, far float64) *record.Depths {
	return &record.Depths{Near: stat.Measured(near, 0.05), Middle: middle, Far: stat.Measured(far, 0.05)}
}

// cutRecord is a reel of three shots that are steady in themselves: the farthest
// things stand at 0.5, 3.9 and 0.5 % from frames 0, 288 and 432 on.
func cutRecord() record.Record {
	var far []stat.Measurement
	for i := range 24 {
		v := 0.5
		if i >= 12 && i < 18 {
			v = 3.9
		}
		far = append(far, stat.Measured(v, 0.02))
	}
	r := recordOf(map[string][]stat.Measurement{"far_parallax": far, "near_parallax": steady(24, -1, 0.02)})
	r.Header.Sync.Scanned = r.Header.Left.Frames
	r.Header.Sync.Cuts = []record.Cut{
		{Frame: 280, Before: depths(-1, 0, 0.5), After: depths(-1, 1, 3.9)},
		{Frame: 430, Before: depths(-1, 1, 3.9), After: depths(-1, 0, 0.4)},
		{Frame: 500, Before: depths(-1, 0, 0.5)},
	}
	return r
}

func TestJumpAcrossACut(t *testing.T) {
	limits, _ := Limits{
		{Metric: "far_parallax", Statistic: Jump, Low: -60, High: 60, Unit: Arcmin, Severity: Warn},
		{Metric: "far_parallax", Statistic: Across, Low: -60, High: 60, Unit: Arcmin, Severity: Warn},
		{Metric: "near_parallax", Statistic: Across, Low: -60, High: 60, Unit: Arcmin, Severity: Warn},
	}.On(screen.Screen{})
	v := Clips([]record.Record{cutRecord()}, limits)[0]
	require.Equal(t, []string{"warn far_parallax cut post"}, told(v))
	f := v.Findings[0]
	require.InDelta(t, -3.5, f.Value, 1e-9)
	require.Equal(t, "01:00:17:21", f.From, "the last frame of the one shot, 429 = 17·24 + 21")
	require.Equal(t, "01:00:17:22", f.To)
	require.Equal(t, 430, f.Worst)
	require.Equal(t, "Far parallax jumps by −67 px (3.5 %) across the cut to frame 430. Ease it by a shift on either side of the cut, or keep such shots apart.", f.Detail)
	require.Equal(t, []string{"2 of 2 cuts are beyond the limit."}, f.Notes)

	// The same change without a cut is one of the shot's, and with frames that were
	// not looked at perhaps is not.
	r := cutRecord()
	r.Header.Sync.Cuts = nil
	require.Equal(t, []string{"warn far_parallax jump post"}, told(Clips([]record.Record{r}, limits)[0]))
	require.Empty(t, Clips([]record.Record{r}, limits)[0].Findings[0].Notes)
	r.Header.Sync.Runs = []timing.Stretch{{From: 0, To: 250}}
	require.Contains(t, Clips([]record.Record{r}, limits)[0].Findings[0].Detail, "within 24 frames")
	require.Equal(t, []string{"It may be a cut: the frames between were not all looked at."}, Clips([]record.Record{r}, limits)[0].Findings[0].Notes)

	// Nor is what changes from shot to shot a drift.
	r = cutRecord()
	for i := range r.Moments {
		r.Moments[i].Values["roll"] = stat.Measured(0.02*float64(i), 0.01)
	}
	drift := []Limit{{Metric: "roll", Statistic: Drift, Low: -0.1, High: 0.1, Severity: Warn}}
	require.Empty(t, Clips([]record.Record{r}, drift)[0].Findings)
	r.Header.Sync.Cuts = nil
	require.Equal(t, []string{"warn roll drift rig"}, told(Clips([]record.Record{r}, drift)[0]))

	r = cutRecord()
	for i := range r.Header.Sync.Cuts {
		r.Header.Sync.Cuts[i].After = nil
	}
	require.Empty(t, Clips([]record.Record{r}, limits)[0].Findings)
	_, reason := pull.FindFocus(r)
	require.Equal(t, "the clip is cut", reason)
}

// takes are clips of one setup at the given depths, named by their numbers.
func takes(far ...float64) []record.Record {
	var records []record.Record
	for i, v := range far {
		r := recordOf(map[string][]stat.Measurement{"far_parallax": steady(6, v, 0.02), "near_parallax": steady(6, v-1, 0.02)})
		r.Header.Clip.Name = []string{"S1_T1", "S1_T2", "S1_T3", "S1_T10"}[i]
		r.Header.Clip.Left = "/day/" + r.Header.Clip.Name + "_L.mov"
		r.Header.Left.Timecode = ""
		for k := range r.Moments {
			s := &depth.Spread{Coverage: 1}
			for range depth.SpreadPercentiles {
				s.Parallax = append(s.Parallax, v-0.5)
			}
			r.Moments[k].Parallax = s
		}
		records = append(records, r)
	}
	return records
}

func TestFollows(t *testing.T) {
	pairs := func(records []record.Record) (list []string) {
		for _, f := range Follows(records) {
			list = append(list, f.From+" > "+f.To)
		}
		return list
	}
	all := takes(0, 1, 5, 0)
	require.Equal(t, []string{"S1_T1 > S1_T2", "S1_T2 > S1_T3", "S1_T3 > S1_T10"}, pairs(all))
	f := Follows(all)[1]
	require.InDelta(t, 0.5, f.Before.Middle, 1e-9)
	require.InDelta(t, 5, f.After.Far.Value, 1e-9)

	// Where all tell when they were begun, that is the order.
	for i, label := range []string{"02:00:00:00", "01:00:00:00", "03:00:00:00", "04:00:00:00"} {
		all[i].Header.Left.Timecode = label
	}
	require.Equal(t, []string{"S1_T2 > S1_T1", "S1_T1 > S1_T3", "S1_T3 > S1_T10"}, pairs(all))

	// Another camera, folder or series is another setup, and what was not measured
	// is left out.
	all = takes(0, 1, 5, 0)
	all[1].Header.Right.Camera = "B"
	all[2].Header.Clip.Left = "/other/S1_T3_L.mov"
	require.Equal(t, []string{"S1_T1 > S1_T10"}, pairs(all))
	all = takes(0, 1)
	all[1].Header.Clip.Name = "S2_T2"
	require.Empty(t, pairs(all))
	all = takes(0, 1, 5)
	all[1].Trailer.Failed = "broken"
	require.Equal(t, []string{"S1_T1 > S1_T3"}, pairs(all))
	all[1] = all[0]
	all[0].Header.Clip.Name, all[1].Header.Clip.Name, all[2].Header.Clip.Name = "one", "two", "three"
	require.Empty(t, pairs(all))
}

func TestJudgeClipsThatFollow(t *testing.T) {
	limits, _ := LimitSets[0].Limits().On(screen.Screen{})
	// 120 arcmin at three picture heights are 5.89 % of the width.
	require.Empty(t, OverDay(takes(0, 5, 0, 5), nil, limits))
	day := OverDay(takes(0, 6.2, 0, 0), nil, limits)
	require.Len(t, day, 2, "the nearest and the farthest")
	require.Equal(t, Warned, day[0].Status)
	require.Equal(t, Next, day[0].Limit.Statistic)
	require.Empty(t, day[0].Clip)
	require.InDelta(t, 6.2, day[0].Value, 1e-9)
	require.Equal(t, "01:00:05:00", day[0].From)
	require.Equal(t, "01:00:00:00", day[0].To)
	require.Regexp(t, `^From S1_T1 to S1_T2, which follows it, \w+ parallax would jump by \+119 px \(6.2 %\). If they are cut together, ease it`, day[0].Detail)
	require.Equal(t, []string{"2 of 3 such places of this setup are beyond the limit."}, day[0].Notes)
	require.Equal(t, []string{"S1_T1", "S1_T2"}, day[0].Clips)
}
