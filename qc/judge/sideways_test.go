package judge

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/depth"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

// A depth budget of 3 % of the width, from −1 % to +2 %, as delivery guidance
// for television has had it (common practice): a shot from −2.5 % to +0.5 %
// fits after a shift, one to +0.6 % does not fit at all.
func TestDepthBudget(t *testing.T) {
	limits := []Limit{
		{Metric: "near_parallax", Statistic: Lowest, Low: -1, High: noLimit.High, Severity: Fail},
		{Metric: "far_parallax", Statistic: Top, Low: noLimit.Low, High: 2, Severity: Fail},
	}
	shot := func(near, far float64) record.Record {
		return recordOf(map[string][]stat.Measurement{"near_parallax": steady(24, near, 0.001), "far_parallax": steady(24, far, 0.001)})
	}
	m, ok := parallaxRoom(shot(-2.5, 0.5), limits, Fail)
	require.True(t, ok)
	require.InDelta(t, 1.5, m.low, 1e-9)
	require.InDelta(t, 1.5, m.high, 1e-9)
	m, ok = parallaxRoom(shot(-2.5, 0.6), limits, Fail)
	require.True(t, ok)
	require.InDelta(t, 0.1, m.low-m.high, 1e-9, "too deep by")
	// In pixels of 1920: −19.2, +38.4 and a budget of 57.6.
	require.InDelta(t, -19.2, screen.Screen{}.Depth(-1, 1920).Pixels, 1e-9)
	require.InDelta(t, 38.4, screen.Screen{}.Depth(2, 1920).Pixels, 1e-9)
	require.InDelta(t, 57.6, screen.Screen{}.Depth(3, 1920).Pixels, 1e-9)

	// Parallax grows with the distance between the cameras: 3 of 4 % take 0.75 of it.
	v := Clips([]record.Record{shot(-2, 2)}, limits)[0]
	require.Equal(t, Failed, v.Status)
	require.Equal(t, Reshoot, v.Findings[0].Mend)
	require.Contains(t, v.Findings[0].Detail, "No sideways shift brings both the nearest and the farthest things within limits: shoot it again with the cameras at most 0.75 times as far apart.")
	require.Equal(t, []string{"The nearest and the farthest things are 77 px (4 %) of the width apart, and the limits leave 58 px (3 %).", caution}, v.Findings[0].Notes)

	v = Clips([]record.Record{shot(-2, 0.5)}, limits)[0]
	require.Equal(t, Post, v.Findings[0].Mend)
	require.Contains(t, v.Findings[0].Detail, "Shift the right eye 19 px (1 %) to the right in post, which brings both ends within limits.")
	require.Equal(t, []string{"Both eyes lose 19 px (1 %) of the width by the shift.", "A shift of up to 29 px (1.5 %) would do.", caution}, v.Findings[0].Notes)
	v = Clips([]record.Record{shot(0.5, 2.5)}, limits)[0]
	require.Contains(t, v.Findings[0].Detail, "Shift the right eye 9.6 px (0.5 %) to the left in post, which brings both ends within limits.")
	require.Equal(t, []string{"Both eyes lose 9.6 px (0.5 %) of the width by the shift.", "A shift of up to 29 px (1.5 %) would do.", caution}, v.Findings[0].Notes)
}

// One report may judge for several screens: what a television shows well parts
// the eyes in a cinema.
func TestSeveralScreens(t *testing.T) {
	limits, notes := LimitSets[0].Limits().On(screen.Screen{Width: 2}, screen.Screen{Width: 12}, screen.Screen{View: 60})
	require.NotEmpty(t, notes, "no millimetres in a headset")
	r := recordOf(map[string][]stat.Measurement{"near_parallax": steady(24, -1, 0.02), "far_parallax": steady(24, 1.2, 0.02)})
	var parallax []Finding
	for _, f := range Clips([]record.Record{r}, limits)[0].Findings {
		if f.Limit.Metric == "far_parallax" || f.Limit.Metric == "near_parallax" {
			parallax = append(parallax, f)
		}
	}
	// 1.2 % of 12 m are 144 mm, of 2 m 24 mm; both angles are below 60′; 1.2 % of a
	// view of 60° are 48′.
	require.Len(t, parallax, 1)
	f := parallax[0]
	require.Equal(t, "a screen 12 m wide", f.Limit.Screen)
	require.Equal(t, Failed, f.Status)
	require.InDelta(t, 65.0/120, f.Limit.High, 1e-9)
	require.Contains(t, f.Detail, "On a screen 12 m wide, the farthest things stand 23 px (1.2 %) behind the screen.")
	// Towards the screen by 1.2 − 50/120 %, which the near end bears.
	require.Contains(t, f.Detail, "to the left in post, which brings both ends within limits")
	require.Contains(t, f.Notes, caution)
}

func TestWindowsAreMended(t *testing.T) {
	r := recordOf(map[string][]stat.Measurement{"edge_violation": append(steady(23, 40, 1), stat.Measured(62, 1))})
	r.Moments[23].EdgeViolations = []depth.EdgeViolation{
		{Edge: "right", From: 38, To: 100, Parallax: -1.25},
		{Edge: "bottom", From: 70, To: 100, Parallax: -1.25},
	}
	limits := []Limit{{Metric: "edge_violation", Statistic: Median, Low: noLimit.Low, High: 10, Severity: Warn}}
	f := Clips([]record.Record{r}, limits)[0].Findings[0]
	require.Equal(t, Post, f.Mend)
	require.Contains(t, f.Detail, "The side edges truncate things in front of the screen over 432 px (40 %).")
	require.Contains(t, f.Notes, "At the right edge, from 38 to 100 % of the height: mask that edge of the right eye by 24 px (1.25 %).")
	require.Contains(t, f.Notes, "At the bottom edge, from 70 to 100 % of the width, something in front of the screen is truncated too, which is felt less.")
}

// The depth jumps from one moment to the next: by how much, and in how many
// frames.
func TestDepthJumps(t *testing.T) {
	far := append(steady(12, 0.5, 0.02), steady(12, 3.9, 0.02)...)
	r := recordOf(map[string][]stat.Measurement{"far_parallax": far})
	limits, _ := Limits{{Metric: "far_parallax", Statistic: Jump, Low: -60, High: 60, Unit: Arcmin, Severity: Warn}}.On(screen.Screen{})
	f := Clips([]record.Record{r}, limits)[0].Findings[0]
	require.Equal(t, Warned, f.Status)
	require.InDelta(t, 3.4, f.Value, 1e-9)
	require.InDelta(t, 0.02*math.Sqrt2, f.SE, 1e-9)
	require.Equal(t, r.Moments[12].Frame, f.Worst)
	require.Equal(t, r.Moments[11].Label(), f.From)
	require.Equal(t, r.Moments[12].Label(), f.To)
	require.Contains(t, f.Detail, fmt.Sprintf("Far parallax jumps by +65 px (3.4 %%) within %d frames.", r.Moments[12].Frame-r.Moments[11].Frame))

	require.Empty(t, Clips([]record.Record{recordOf(map[string][]stat.Measurement{"far_parallax": steady(24, 2, 0.02)})}, limits)[0].Findings)
	one := recordOf(map[string][]stat.Measurement{"far_parallax": steady(1, 2, 0.02)})
	one.Header.Planned = 1
	require.Empty(t, Clips([]record.Record{one}, limits)[0].Findings, "a single moment is no jump")
}
