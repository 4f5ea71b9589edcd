package judge

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

// clean returns the measurements of a clip in which nothing is wrong.
func clean(change map[string][]stat.Measurement) map[string][]stat.Measurement {
	const moments = 24
	all := map[string][]stat.Measurement{
		"vertical_offset": steady(moments, 0.01, 0.01), "roll": steady(moments, -0.01, 0.01), "zoom": steady(moments, 0.02, 0.02),
		"keystone": steady(moments, 0, 0.02), "height_spread": steady(moments, 0.01, 0.02), "vertical_worst": steady(moments, 0.06, 0.02), "exposure": steady(moments, 0.05, 0.02),
		"near_parallax": steady(moments, -0.8, 0.02), "far_parallax": steady(moments, 1.2, 0.02),
	}
	for name, values := range change {
		all[name] = values
	}
	return all
}

// line returns 24 measurements along a line, with a small scatter about it.
func line(from, to, se float64) []stat.Measurement {
	all := make([]stat.Measurement, 24)
	for i := range all {
		wobble := 0.3 * se * math.Sin(2.4*float64(i))
		all[i] = stat.Measured(from+(to-from)*float64(i)/23+wobble, se)
	}
	return all
}

func viewer(t *testing.T, screen screen.Screen) []Limit {
	t.Helper()
	limits, _ := LimitSets[0].Limits().On(screen)
	return limits
}

// told writes findings as "status metric statistic mend", the worst first.
func told(v Verdict) []string {
	all := []string{}
	for _, f := range v.Findings {
		all = append(all, strings.TrimSpace(fmt.Sprintf("%s %s %s %s", f.Status, f.Limit.Metric, f.Limit.Statistic, f.Mend)))
	}
	return all
}

func TestJudge(t *testing.T) {
	one := func(name string, values []stat.Measurement) map[string][]stat.Measurement {
		return map[string][]stat.Measurement{name: values}
	}
	dark := slices.Repeat([]stat.Measurement{stat.Missing("too dark")}, 24)
	for _, c := range []struct {
		name   string
		values map[string][]stat.Measurement
		screen screen.Screen
		change func(*record.Record)
		status Status
		want   []string
	}{
		{name: "clean", status: Passed},

		// Of a limit of 0.7 to warn and 1.5 to fail.
		{name: "under the warning", values: one("vertical_offset", steady(24, 0.69, 0.01)), status: Passed},
		{name: "not surely over the warning", values: one("vertical_offset", steady(24, 0.71, 0.01)), status: Passed},
		{name: "over the warning", values: one("vertical_offset", steady(24, 0.73, 0.01)), status: Warned, want: []string{"warn vertical_offset median post"}},
		{name: "perhaps over the failure", values: one("vertical_offset", steady(24, -1.49, 0.01)), status: Warned, want: []string{"warn vertical_offset median post"}},
		{name: "not surely over the failure", values: one("vertical_offset", steady(24, 1.51, 0.01)), status: Warned, want: []string{"warn vertical_offset median post"}},
		{name: "over the failure", values: one("vertical_offset", steady(24, 1.53, 0.01)), status: Failed, want: []string{"fail vertical_offset median post"}},
		{name: "perhaps anything", values: one("roll", steady(24, 0.1, 0.8)), status: Unmeasured, want: []string{"unmeasured roll median"}},
		{name: "hardly known, but too much", values: one("roll", steady(24, 2.4, 0.6)), status: Failed, want: []string{"fail roll median post"}},

		// One cause, one finding: the worst vertical disparity follows.
		{name: "offset explains the worst", values: map[string][]stat.Measurement{
			"vertical_offset": steady(24, 2.2, 0.02), "vertical_worst": steady(24, 2.3, 0.02),
		}, status: Failed, want: []string{"fail vertical_offset median post"}},
		{name: "a mere warning does not explain a failure", values: map[string][]stat.Measurement{
			"vertical_offset": steady(24, 0.9, 0.02), "roll": steady(24, 0.7, 0.02), "vertical_worst": steady(24, 1.8, 0.02),
		}, status: Failed, want: []string{"fail vertical_worst median post", "warn roll median post", "warn vertical_offset median post"}},
		{name: "a worst of its own", values: one("vertical_worst", steady(24, 0.9, 0.02)), status: Warned, want: []string{"warn vertical_worst median post"}},
		{name: "too much to correct", values: one("zoom", steady(24, 15, 0.02)), status: Failed, want: []string{"fail zoom median reshoot"}},

		{name: "drift", values: one("roll", line(-0.2, 0.2, 0.01)), status: Warned, want: []string{"warn roll drift rig"}},
		{name: "drift and offset", values: map[string][]stat.Measurement{
			"vertical_offset": line(1.8, 2.6, 0.02), "vertical_worst": line(1.9, 2.7, 0.02),
		}, status: Failed, want: []string{"fail vertical_offset median post", "warn vertical_offset drift rig"}},
		{name: "a scatter without a trend", values: one("roll", func() []stat.Measurement {
			var all []stat.Measurement
			for i := range 24 {
				all = append(all, stat.Measured(0.3*math.Sin(2.4*float64(i)), 0.01))
			}
			return all
		}()), status: Passed},

		{name: "darker", values: one("exposure", steady(24, -2, 0.02)), status: Failed, want: []string{"fail exposure median post"}},

		// Parallax depends on the screen: 60′ are 2.95 % at three heights, 65 mm
		// are 6.5 % of 1 m and 0.65 % of 10 m.
		{name: "far behind", values: one("far_parallax", steady(24, 3.2, 0.02)), status: Warned, want: []string{"warn far_parallax highest post"}},
		{name: "too far behind", values: one("far_parallax", steady(24, 4, 0.02)), status: Failed, want: []string{"fail far_parallax highest post"}},
		{name: "divergent in a cinema", screen: screen.Screen{Width: 10}, status: Failed, want: []string{"fail far_parallax highest post"}},
		{name: "too deep for any shift", values: map[string][]stat.Measurement{
			"near_parallax": steady(24, -5, 0.02), "far_parallax": steady(24, 4, 0.02),
		}, status: Failed, want: []string{"fail near_parallax lowest reshoot", "fail far_parallax highest reshoot"}},
		{name: "deeper than warned of", values: map[string][]stat.Measurement{
			"near_parallax": steady(24, -3.2, 0.02), "far_parallax": steady(24, 3.2, 0.02),
		}, status: Warned, want: []string{"warn near_parallax lowest", "warn far_parallax highest"}},
		// Three moments of 24 are too few to be sure of one frame in twenty.
		{name: "some moments out of bounds", values: one("near_parallax", append(steady(21, -0.8, 0.02), steady(3, -4.5, 0.02)...)),
			status: Failed, want: []string{"fail near_parallax stretch post", "warn near_parallax jump post"}},
		{name: "more moments out of bounds", values: one("near_parallax", append(steady(19, -0.8, 0.02), steady(5, -4.5, 0.02)...)),
			status: Failed, want: []string{"fail near_parallax lowest post", "warn near_parallax jump post"}},

		{name: "dark", values: map[string][]stat.Measurement{
			"vertical_offset": dark, "roll": dark, "zoom": dark, "keystone": dark, "vertical_worst": dark, "near_parallax": dark, "far_parallax": dark,
		}, status: Unmeasured, want: []string{"unmeasured vertical_offset median"}},
		{name: "dark and failed", values: map[string][]stat.Measurement{"roll": dark, "exposure": steady(24, 2, 0.02)},
			status: Failed, want: []string{"fail exposure median post", "unmeasured roll median"}},
		{name: "unmeasured outranks a warning", values: map[string][]stat.Measurement{"roll": dark, "zoom": steady(24, 2, 0.02)},
			status: Unmeasured, want: []string{"unmeasured roll median", "warn zoom median post"}},

		{name: "longer", change: func(r *record.Record) { r.Header.Right.Frames += 2 }, status: Warned, want: []string{"warn frames_difference fact"}},
		{name: "faster", change: func(r *record.Record) { r.Header.Right.RateNum, r.Header.Right.RateDen = 24000, 1001 }, status: Failed, want: []string{"fail rate_difference fact"}},
		{name: "lost moments", change: func(r *record.Record) { r.Trailer.Lost = []int{5} }, status: Warned, want: []string{"warn lost_moments fact"}},
		{name: "mirrored", change: func(r *record.Record) { r.Header.Setup.Right = picture.Flop }, status: Warned, want: []string{"warn orientation fact post"}},
		{name: "mirrored as the file says", change: func(r *record.Record) { r.Header.Setup.Right, r.Header.Right.Orientation = picture.Flip, picture.Flip }, status: Passed},
		{name: "exchanged", change: func(r *record.Record) { r.Header.Setup.Order = record.Swapped }, status: Failed, want: []string{"fail eye_order fact post"}},
		{name: "order unknown", change: func(r *record.Record) { r.Header.Setup.Order = record.OrderUnknown }, status: Passed},
		{name: "late", change: func(r *record.Record) {
			r.Header.Setup.Slip = 3
			r.Header.Right.Frames += 3
		}, status: Warned, want: []string{"warn slip fact post"}},
		{name: "late, as far as can be seen", change: func(r *record.Record) {
			r.Header.Setup.Slip = 1
			r.Header.Right.Frames++
			r.Header.Sync.Unclear = []timing.Stretch{{From: 0, To: 40}}
		}, status: Warned, want: []string{"warn slip fact post", "warn frames_difference fact"}},
		{name: "late, and longer for another reason", change: func(r *record.Record) {
			r.Header.Setup.Slip = 3
			r.Header.Right.Frames += 9
		}, status: Warned, want: []string{"warn frames_difference fact", "warn slip fact post"}},

		{name: "failed", change: func(r *record.Record) { r.Trailer.Failed = "truncated" }, status: Unmeasured, want: []string{"unmeasured"}},
		{name: "no pair", change: func(r *record.Record) { r.Header.Clip.Problem = "no right eye" }, status: Unmeasured, want: []string{"unmeasured"}},
		{name: "cut", change: func(r *record.Record) { r.Trailer.Done = false }, status: Unmeasured, want: []string{"unmeasured"}},
		{name: "nothing", change: func(r *record.Record) { r.Moments = nil }, status: Unmeasured, want: []string{"unmeasured"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := recordOf(clean(c.values))
			if c.change != nil {
				c.change(&r)
			}
			if c.want == nil {
				c.want = []string{}
			}
			verdicts := Clips([]record.Record{r}, viewer(t, c.screen))
			require.Len(t, verdicts, 1)
			v := verdicts[0]
			require.Equal(t, c.want, told(v), "%+v", v.Findings)
			require.Equal(t, c.status, v.Status)
			require.Equal(t, "clip", v.Clip)
			for _, f := range v.Findings {
				require.Equal(t, "clip", f.Clip)
				require.Regexp(t, `^[A-Z0-9].*\.$`, f.Detail)
				require.NotContains(t, f.Detail, "%!")
				require.NotContains(t, f.Detail, "NaN")
				require.NotContains(t, f.Detail, "Inf")
			}
		})
	}
}

func TestDetailsInPlainEnglish(t *testing.T) {
	for _, c := range []struct {
		metric string
		values []stat.Measurement
		screen screen.Screen
		want   string
	}{
		{"vertical_offset", steady(24, 2.2, 0.01), screen.Screen{},
			"The right eye is 24 px (2.2 %) low. Reposition it in post, and line up the rig before the next shot."},
		{"vertical_offset", steady(24, -0.75, 0.01), screen.Screen{},
			"The right eye is 8.1 px (0.75 %) high. Reposition it in post, and line up the rig before the next shot."},
		{"roll", steady(24, -1.2345, 0.01), screen.Screen{},
			"The right eye is rotated anticlockwise by 1.23°. Rotate it in post, and line up the rig before the next shot."},
		{"exposure", steady(24, -2, 0.01), screen.Screen{},
			"The right eye is darker by 2 stops. Grade it in post; check irises and shutters before the next shot."},
		{"zoom", steady(24, 2.85, 0.1), screen.Screen{},
			"The right eye is larger by 2.85 %. Scale it in post, and match the focal lengths before the next shot."},
		{"far_parallax", steady(24, 1.2, 0.01), screen.Screen{Width: 10},
			"The farthest things stand 23 px (1.2 %) behind the screen. Shift the right eye 13 px (0.7 %) to the left in post, which brings both ends within limits."},
		{"near_parallax", steady(24, -4, 0.01), screen.Screen{},
			"The nearest things stand 77 px (4 %) in front of the screen. Shift the right eye 20 px (1.05 %) to the right in post, which brings both ends within limits."},
		{"vertical_offset", line(-0.3, 0.3, 0.005), screen.Screen{},
			"Vertical offset drifts by +6.5 px (0.6 %) during the clip. Something on the rig is loose or slipping: check its fastenings; correct the shot with keyframes."},
	} {
		v := Clips([]record.Record{recordOf(clean(map[string][]stat.Measurement{c.metric: c.values}))}, viewer(t, c.screen))[0]
		require.Len(t, v.Findings, 1)
		require.Equal(t, c.want, v.Findings[0].Detail)
	}

	// Without a limit to warn, what cannot be told from the limit says how well it is known.
	limits := []Limit{{Metric: "roll", Statistic: Median, Low: -1.1, High: 1.1, Severity: Fail, Source: "me"}}
	v := Clips([]record.Record{recordOf(clean(map[string][]stat.Measurement{"roll": steady(24, 1.05, 0.1)}))}, limits)[0]
	require.Equal(t, Warned, v.Status)
	require.Equal(t, "The right eye is rotated clockwise by 1.05° (known to ±0.2°). Rotate it in post, and line up the rig before the next shot.", v.Findings[0].Detail)
}

func TestFindingsSayWhere(t *testing.T) {
	values := append(append(steady(6, 0, 0.01), steady(15, 0.9, 0.01)...), steady(3, 0.2, 0.01)...)
	values[11] = stat.Measured(1.2, 0.01)
	r := recordOf(clean(map[string][]stat.Measurement{"roll": values}))
	f := Clips([]record.Record{r}, viewer(t, screen.Screen{}))[0].Findings[0]
	require.Equal(t, "01:00:06:00", f.From)
	require.Equal(t, "01:00:20:00", f.To)
	require.Equal(t, []int{6 * 24, 20 * 24, 11 * 24}, []int{f.FrameFrom, f.FrameTo, f.Worst})
	require.Equal(t, "°", f.Unit)
	require.InDelta(t, 0.9, f.Value, 1e-12)

	for i := range r.Moments {
		r.Moments[i].Timecode = ""
	}
	f = Clips([]record.Record{r}, viewer(t, screen.Screen{}))[0].Findings[0]
	require.Equal(t, "0:00:06.000", f.From)
	require.Equal(t, "1:02:03.045", record.Moment{Time: time.Hour + 2*time.Minute + 3*time.Second + 45*time.Millisecond}.Label())
}

// What comes of how the cameras stand is the rig crew's too, whoever mends the clip.
func TestFindingsToRealignBy(t *testing.T) {
	for _, c := range []struct {
		metric string
		values []stat.Measurement
		motion *record.MotionBounds
		want   bool
	}{
		{"vertical_offset", steady(24, 0.9, 0.01), nil, true},
		{"roll", steady(24, -1.2, 0.01), nil, true},
		{"zoom", steady(24, 15, 0.01), nil, true}, // shot again, by the same rig
		{"exposure", steady(24, -2, 0.01), nil, false},
		{"far_parallax", steady(24, 4, 0.02), nil, false},
		{"roll", steady(24, 0.1, 0.8), nil, false}, // not known
		{"vertical_offset", steady(24, 0.9, 0.01), &record.MotionBounds{VerticalMotion: timing.VerticalMotion{Offset: 1}, Delay: 0.5, Skew: 0.4}, false},
	} {
		r := recordOf(clean(map[string][]stat.Measurement{c.metric: c.values}))
		r.Header.Sync.Motion = c.motion
		v := Clips([]record.Record{r}, viewer(t, screen.Screen{}))[0]
		require.NotEmpty(t, v.Findings, c.metric)
		require.Equal(t, c.want, v.Findings[0].Realign, "%s: %s", c.metric, v.Findings[0].Detail)
	}
}

func TestAnUnmeasuredConditionalMetricIsNoReason(t *testing.T) {
	i := slices.IndexFunc(metrics.All, func(m metrics.Metric) bool { return m.Conditional })
	if i < 0 {
		// None is there yet; what judging does with one must hold all the same.
		was := metrics.All
		t.Cleanup(func() { metrics.All = was })
		metrics.All = append(slices.Clone(was), metrics.Metric{Name: "only_sometimes", Conditional: true})
		i = len(was)
	}
	limits := []Limit{{Metric: metrics.All[i].Name, Statistic: Median, Low: -1, High: 1, Severity: Fail}}
	v := Clips([]record.Record{recordOf(clean(nil))}, limits)[0]
	require.Equal(t, Passed, v.Status)
	require.Empty(t, v.Findings)
}

func TestJudgeKeepsTheOrderAndItsArguments(t *testing.T) {
	bad := recordOf(clean(map[string][]stat.Measurement{"roll": steady(24, 3, 0.01)}))
	bad.Header.Clip.Name = "bad"
	good := recordOf(clean(nil))
	limits := viewer(t, screen.Screen{})
	before := slices.Clone(limits)
	verdicts := Clips([]record.Record{good, bad, good}, limits)
	require.Equal(t, before, limits)
	require.Equal(t, []string{"clip", "bad", "clip"}, []string{verdicts[0].Clip, verdicts[1].Clip, verdicts[2].Clip})
	require.Equal(t, verdicts, Clips([]record.Record{good, bad, good}, limits))
	require.Panics(t, func() { Clips(nil, LimitSets[0].Limits()) })
}

func TestStillsAreJudgedByWhatTheyHave(t *testing.T) {
	values := map[string][]stat.Measurement{}
	for name, all := range clean(nil) {
		values[name] = all[:1]
	}
	values["vertical_offset"] = valuesWith(0.02, 2.1)
	v := Clips([]record.Record{recordOf(values)}, viewer(t, screen.Screen{}))[0]
	require.Equal(t, []string{"fail vertical_offset median post"}, told(v))
}

func TestJudgeDay(t *testing.T) {
	limits, _ := LimitSets[1].Limits().On(screen.Screen{})
	day := func(n int, offset func(i int) float64, change func(i int, r *record.Record)) []record.Record {
		var records []record.Record
		for i := range n {
			r := recordOf(clean(map[string][]stat.Measurement{"vertical_offset": steady(24, offset(i), 0.01)}))
			r.Header.Clip.Name = fmt.Sprintf("clip %02d", i)
			r.Header.Left.Created = time.Date(2024, 5, 1, 9, 20*i, 0, 0, time.UTC)
			if change != nil {
				change(i, &r)
			}
			records = append(records, r)
		}
		return records
	}
	rising := func(i int) float64 { return 0.03 * float64(i) }

	findings := OverDay(day(8, rising, nil), nil, limits)
	require.Len(t, findings, 1)
	f := findings[0]
	require.Equal(t, Warned, f.Status)
	require.Equal(t, Rig, f.Mend)
	require.InDelta(t, 0.21, f.Value, 1e-9)
	require.Equal(t, "From clip 00 to clip 07, over 8 clips, vertical offset drifts by +2.3 px (0.21 %). Something on the rig is loose or slipping: check its fastenings and line it up again.", f.Detail)
	require.Equal(t, []string{"clip 00", "clip 07"}, f.Clips)
	require.Empty(t, f.Clip)

	// The order of the records does not matter, nor does a clip that failed.
	shuffled := day(9, rising, func(i int, r *record.Record) {
		if i == 8 {
			r.Trailer.Failed = "broken"
		}
	})
	slices.Reverse(shuffled)
	require.Equal(t, findings, OverDay(shuffled, nil, limits))

	// By timecode where the files do not say when they were made.
	byLabel := day(8, rising, func(i int, r *record.Record) {
		r.Header.Left.Created = time.Time{}
		r.Header.Left.Timecode = fmt.Sprintf("10:%02d:00:00", 5*i)
	})
	require.Len(t, OverDay(byLabel, nil, limits), 1)

	// A step lies between two clips, also under the limits for viewers.
	knocked := func(i int) float64 {
		if i < 5 {
			return 0.05
		}
		return 0.45
	}
	for _, set := range LimitSets {
		limits, _ := set.Limits().On(screen.Screen{})
		findings := OverDay(day(12, knocked, nil), nil, limits)
		require.Len(t, findings, 1, set.Name)
		f := findings[0]
		require.Equal(t, Warned, f.Status)
		require.Equal(t, Rig, f.Mend)
		require.Equal(t, Day, f.Limit.Statistic)
		require.InDelta(t, 0.4, f.Value, 1e-9)
		require.Equal(t, []string{"clip 04", "clip 05"}, f.Clips)
		require.Equal(t, "01:00:23:00", f.From, "the last moment before")
		require.Equal(t, "01:00:00:00", f.To, "the first moment after")
		require.Equal(t, "Between clip 04 and clip 05, vertical offset steps by +4.3 px (0.4 %). The rig was knocked or something on it slipped: line it up again.", f.Detail)
	}
	// Realigned, it is better from there on, and nothing for the rig crew.
	better := OverDay(day(12, func(i int) float64 { return 0.5 - knocked(i) }, nil), nil, limits)
	require.Len(t, better, 1)
	require.Equal(t, Post, better[0].Mend)
	require.Contains(t, better[0].Detail, "steps by −4.3 px (0.4 %). It is better from there on")

	for name, records := range map[string][]record.Record{
		"too few clips":        day(5, rising, nil),
		"one clip that is off": day(8, func(i int) float64 { return map[int]float64{3: 2}[i] }, nil),
		"a trend too small":    day(8, func(i int) float64 { return 0.01 * float64(i) }, nil),
		"up and down":          day(8, func(i int) float64 { return 0.3 * float64(i%2) }, nil),
		"two rigs": day(10, rising, func(i int, r *record.Record) {
			r.Header.Left.Camera = fmt.Sprint("camera ", i%2)
		}),
		"no telling when": day(8, rising, func(i int, r *record.Record) {
			r.Header.Left.Created, r.Header.Left.Timecode = time.Time{}, ""
		}),
	} {
		require.Empty(t, OverDay(records, nil, limits), name)
	}
}
