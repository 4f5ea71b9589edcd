package judge

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/stat"
	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// The timing explains what exceeds a limit by less than eyes out of time would make, and
// no value that is uncertain for other reasons.
func TestWhatTimingExplains(t *testing.T) {
	offset := Limit{Metric: "vertical_offset", Statistic: Median, Low: -0.2, High: 0.2, Severity: Fail}
	open := record.MotionBounds{VerticalMotion: timing.VerticalMotion{Offset: 1, Roll: 0.1, Zoom: 0.1}, Delay: 0.5, Skew: 0.4}
	told := open
	told.Delay, told.Skew = 0.1, 0.1
	day := offset
	day.Statistic = Day
	zoom := offset
	zoom.Metric = "zoom"
	for name, c := range map[string]struct {
		motion *record.MotionBounds
		limit  Limit
		value  stat.Measurement
		want   bool
	}{
		"nothing moves":             {nil, offset, stat.Measured(0.5, 0.01), false},
		"half a frame":              {&open, offset, stat.Measured(0.6, 0.01), true},
		"more than half a frame":    {&open, offset, stat.Measured(0.8, 0.01), false},
		"told, and beyond it":       {&told, offset, stat.Measured(0.6, 0.01), false},
		"told, and why it is vague": {&told, offset, stat.Measured(0.15, 0.06), true},
		"told, and vague for more":  {&told, offset, stat.Measured(0.15, 0.12), false},
		"skew as zoom":              {&open, zoom, stat.Measured(0.6, 0.01), true},
		"the day":                   {&open, day, stat.Measured(0.6, 0.01), false},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, c.want, outOfTime(record.Sync{Motion: c.motion}, c.limit, c.value))
		})
	}
}
