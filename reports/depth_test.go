package reports

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/qc"
)

func TestDepthOfAClip(t *testing.T) {
	record := qc.Record{Header: qc.Header{EyeWidth: 1920, EyeHeight: 1080}, Trailer: qc.Trailer{Done: true}}
	for i := range 24 {
		record.Moments = append(record.Moments, qc.Moment{Frame: 10 * i, Values: map[string]metrics.Measurement{
			"near_parallax": metrics.Measured(-1.5, 0.03), "far_parallax": metrics.Measured(0.6, 0.03),
		}})
	}
	record.Moments[7].Values["near_parallax"] = metrics.Measured(-1.6, 0.03)
	for i := range record.Moments {
		record.Moments[i].Parallax = &metrics.Spread{Near: metrics.Place{X: 20, Y: 80}, Far: metrics.Place{X: 55, Y: 10}}
	}
	r := &report{Night: Night{Screens: []qc.Screen{{Width: 2}, {Width: 12}, {View: 100}}}}
	d := r.depth(&clip{Record: &record})
	require.NotNil(t, d)
	require.Len(t, d.Rows, 6)
	// A picture of 16:9 at three heights: 20.372′ for 1 % of the width.
	require.Equal(t, depthRow{
		Screen: "a screen 2 m wide", What: "farthest", Percent: "+0.60", Pixels: "+11.5", Millimetres: "+12", Arcmin: "+12", Distance: "4.14 m",
	}, d.Rows[1])
	require.Equal(t, "the eyes of adults would turn outwards", d.Rows[3].Remark, "72 mm")
	require.Equal(t, "∞", d.Rows[3].Distance)
	// 1 % of a view of 100° is 0.02·tan 50° of the distance: 82′.
	require.Equal(t, depthRow{
		Screen: "a picture that fills 100°", What: "nearest", Percent: "−1.50", Pixels: "−28.8", Arcmin: "−123", Remark: "beyond the comfortable 60 arcmin",
	}, d.Rows[4])
	require.Len(t, d.Zones, 2, "none without a distance")
	require.Contains(t, d.Zones[0], "from memory")
	require.Contains(t, d.Caution, "qualified stereographer")
	require.Contains(t, d.Where, "The nearest things are at 20 % of the width and 80 % of the height from the top left, in frame 70.")

	r.Screens = []qc.Screen{{Width: 2}}
	require.Empty(t, r.depth(&clip{Record: &record}).Caution)
	r.Screens = []qc.Screen{{Width: 10}}
	require.Equal(t, "the eyes of children would turn outwards", r.depth(&clip{Record: &record}).Rows[1].Remark, "60 mm")
	for i := range record.Moments {
		record.Moments[i].Values["near_parallax"] = metrics.Missing("dark")
	}
	require.Nil(t, r.depth(&clip{Record: &record}))
}
