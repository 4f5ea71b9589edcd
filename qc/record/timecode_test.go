package record

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Labels worked out from the counting rules of SMPTE ST 12-1 and checked
// against the arithmetic of a widely used open-source media library.
func TestTimecode(t *testing.T) {
	for frame, want := range map[int]string{
		0: "00:00:00;00", 1799: "00:00:59;29", 1800: "00:01:00;02", 3597: "00:01:59;29", 3598: "00:02:00;02",
		17981: "00:09:59;29", 17982: "00:10:00;00", 19781: "00:10:59;29", 19782: "00:11:00;02",
		107892: "01:00:00;00", 2589407: "23:59:59;29", 2589408: "00:00:00;00",
	} {
		require.Equal(t, want, Timecode("00:00:00;00", 30000, 1001, frame))
	}
	for frame, want := range map[int]string{
		3599: "00:00:59;59", 3600: "00:01:00;04", 35964: "00:10:00;00",
	} {
		require.Equal(t, want, Timecode("00:00:00;00", 60000, 1001, frame))
	}
	tests := []struct {
		start    string
		num, den int
		frame    int
		want     string
	}{
		{"10:58:12:20", 24, 1, 4, "10:58:13:00"},
		{"10:58:12:20", 24000, 1001, 4, "10:58:13:00"},
		{"23:59:59:24", 25, 1, 1, "00:00:00:00"},
		{"00:00:59;28", 30000, 1001, 2, "00:01:00;02"},
		{"01:00:00:00", 30000, 1001, 1800, "01:01:00:00"},
		{"01:00:00:00", 25, 1, -1, "00:59:59:24"},
		// What is no label at the rate.
		{"", 25, 1, 3, ""},
		{"01:00:00:25", 25, 1, 0, ""},
		{"00:01:00;01", 30000, 1001, 0, ""},
		{"00:00:00;00", 24000, 1001, 0, ""},
		{"00:60:00:00", 25, 1, 0, ""},
		{"00:00:00-00", 25, 1, 0, ""},
		{"1:00:00:000", 25, 1, 0, ""},
		{"+1:00:00:00", 25, 1, 0, ""},
		{"01:00:00:00", 0, 0, 0, ""},
		{"01:00:00:00", 1, 1000, 0, ""},
	}
	for _, tt := range tests {
		require.Equal(t, tt.want, Timecode(tt.start, tt.num, tt.den, tt.frame), "%+v", tt)
	}
}

func TestTimecodeOfADayThereAndBack(t *testing.T) {
	for _, c := range []struct{ base, drop int }{{24, 0}, {25, 0}, {30, 2}, {60, 4}} {
		day := 24 * 60 * 60 * c.base
		day -= c.drop * (24*60 - 24*6)
		for frame := 0; frame < day; frame += 17 {
			got, ok := ParseLabel(formatLabel(frame, c.base, c.drop), c.base, c.drop)
			require.True(t, ok)
			require.Equal(t, frame, got)
		}
	}
}
