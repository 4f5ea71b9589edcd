package judge

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/depth"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

// ramp rises smoothly from 0 to 1 between frames 24 and 72.
func ramp(frame float64) float64 {
	t := min(max((frame-24)/48, 0), 1)
	return t * t * (3 - 2*t)
}

// pullOf is a record of 24 moments over 96 frames with what values says of each.
func pullOf(values func(frame, wobble float64) (convergence float64, values map[string]float64)) record.Record {
	r := record.Record{Trailer: record.Trailer{Done: true}}
	for i := range 24 {
		frame := 4*i + 2
		at, told := values(float64(frame), math.Sin(2.4*float64(i)))
		m := record.Moment{Frame: frame, Parallax: &depth.Spread{Coverage: 0.9}, Values: map[string]stat.Measurement{}}
		for k := range depth.SpreadPercentiles {
			m.Parallax.Parallax = append(m.Parallax.Parallax, -1+0.1*float64(k)+at)
		}
		for name, v := range told {
			m.Values[name] = stat.Measured(v, 0.06)
		}
		r.Moments = append(r.Moments, m)
	}
	return r
}

// What is said of a convergence that follows the focus late.
func TestJudgeALateConvergence(t *testing.T) {
	lagging := func(lag float64) record.Record {
		return pullOf(func(frame, wobble float64) (float64, map[string]float64) {
			at := 1.2 * ramp(frame-lag)
			return at, map[string]float64{"focus_parallax": at - 1.2*ramp(frame) + 0.02*wobble}
		})
	}
	limits := []Limit{{Metric: "focus_lag", Statistic: Fact, Low: -2, High: 2, Severity: Warn}}
	f := Clips([]record.Record{lagging(8)}, limits)[0].Findings
	require.Len(t, f, 1)
	require.Equal(t, Rig, f[0].Mend)
	require.Regexp(t, `^The convergence follows the focus [78]\.?\d* frames late\. Check`, f[0].Detail)
	require.Empty(t, Clips([]record.Record{lagging(0)}, limits)[0].Findings)
	require.Empty(t, Clips([]record.Record{{Trailer: record.Trailer{Done: true}, Moments: make([]record.Moment, 3)}}, limits)[0].Findings)
}

// What is said of a right lens that does not follow the left one.
func TestJudgeLensesApart(t *testing.T) {
	set, _ := LookupLimits("rig")
	rig, _ := set.Limits().On(screen.Screen{})
	var limits []Limit
	for _, l := range rig {
		if l.Metric == "lens_lag" || l.Metric == "lens_travel" {
			limits = append(limits, l)
		}
	}
	for _, c := range []struct {
		name       string
		lag, share float64
		finding    string
	}{
		{"together", 0, 1, ""},
		{"late by six frames", 6, 1, `^The right lens follows the focus pull [56]\.?\d* frames late\. Check`},
		{"early by five frames", -5, 1, `^The right lens runs [45]\.?\d* frames ahead in the focus pull`},
		{"at half the speed", 0, 0.5, `^During the focus pull the right lens falls short of the left by`},
		{"resting", 0, 0, `^During the focus pull the right lens falls short of the left by .*It seems to rest`},
		{"the other way", 0, -1, `^During the focus pull the right lens falls short .*It seems to go the other way`},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := pullOf(func(frame, wobble float64) (float64, map[string]float64) {
				left := 5 - 10*ramp(frame)
				right := c.share * (5 - 10*ramp(frame-c.lag))
				root := func(v float64) float64 { return math.Copysign(math.Sqrt(math.Abs(v)), v) }
				return 0, map[string]float64{
					"focus_left": left, "focus_right": right + 0.15*wobble,
					"softness_near": root((left - right) / 2), "softness_far": root((right - left) / 2),
				}
			})
			found := Clips([]record.Record{r}, limits)[0].Findings
			if c.finding == "" {
				require.Empty(t, found)
				return
			}
			require.Len(t, found, 1)
			require.Regexp(t, c.finding, found[0].Detail)
			require.Contains(t, []Mend{Rig, Reshoot}, found[0].Mend)
		})
	}
}
