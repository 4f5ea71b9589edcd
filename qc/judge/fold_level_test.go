package judge

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

// Hills far away: the offset at zero parallax is open, but nothing differs in height.
func TestHeightOfFarHills(t *testing.T) {
	set, _ := LookupLimits("rig")
	rig, _ := set.Limits().On(screen.Screen{})
	hills := func(worst float64) map[string][]stat.Measurement {
		return map[string][]stat.Measurement{
			"vertical_offset": steady(24, 0.004, 0.12), "vertical_worst": steady(24, worst, 0.01), "exposure": steady(24, 0, 0.01),
		}
	}
	require.Empty(t, told(Clips([]record.Record{recordOf(clean(hills(0.04)))}, rig)[0]))
	// Nor is an offset that may only just be within its limit one to warn of.
	ground := hills(0.04)
	ground["vertical_offset"] = steady(24, 0.1, 0.06)
	require.Empty(t, told(Clips([]record.Record{recordOf(clean(ground))}, rig)[0]))
	ground["vertical_worst"] = steady(24, 0.17, 0.01)
	require.Equal(t, []string{"warn vertical_offset median post"}, told(Clips([]record.Record{recordOf(clean(ground))}, rig)[0]))
	// One that is certain stays, though another error hides it here.
	ground["vertical_worst"], ground["vertical_offset"] = steady(24, 0.04, 0.01), steady(24, 0.4, 0.1)
	require.Equal(t, []string{"fail vertical_offset median post"}, told(Clips([]record.Record{recordOf(clean(ground))}, rig)[0]))
	// Near the limit it is open again.
	v := Clips([]record.Record{recordOf(clean(hills(0.17)))}, rig)[0]
	require.Equal(t, Unmeasured, v.Status)
	require.Contains(t, v.Findings[0].Detail, "Vertical offset could not be judged")
	// Without anything measured it stays open.
	nothing := hills(0.04)
	for i := range nothing["vertical_offset"] {
		nothing["vertical_offset"][i] = stat.Missing("too little texture")
	}
	require.Equal(t, Unmeasured, Clips([]record.Record{recordOf(clean(nothing))}, rig)[0].Status)
}
