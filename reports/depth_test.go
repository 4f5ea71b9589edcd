package reports

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/depth"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

func TestDepthOfAClip(t *testing.T) {
	rec := record.Record{Header: record.Header{EyeWidth: 1920, EyeHeight: 1080}, Trailer: record.Trailer{Done: true}}
	for i := range 24 {
		rec.Moments = append(rec.Moments, record.Moment{Frame: 10 * i, Values: map[string]stat.Measurement{
			"near_parallax": stat.Measured(-1.5, 0.03), "far_parallax": stat.Measured(0.6, 0.03),
		}})
	}
	rec.Moments[7].Values["near_parallax"] = stat.Measured(-1.6, 0.03)
	for i := range rec.Moments {
		rec.Moments[i].Parallax = &depth.Spread{Near: depth.Position{X: 20, Y: 80}, Far: depth.Position{X: 55, Y: 10}}
	}
	r := &report{Results: Results{Screens: []screen.Screen{{Width: 2}, {Width: 12}, {View: 100}}}}
	d := r.depth(&clip{Record: &rec})
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

	r.Screens = []screen.Screen{{Width: 2}}
	require.Empty(t, r.depth(&clip{Record: &rec}).Caution)
	r.Screens = []screen.Screen{{Width: 10}}
	require.Equal(t, "the eyes of children would turn outwards", r.depth(&clip{Record: &rec}).Rows[1].Remark, "60 mm")
	for i := range rec.Moments {
		rec.Moments[i].Values["near_parallax"] = stat.Missing("dark")
	}
	require.Nil(t, r.depth(&clip{Record: &rec}))
}

func TestJumpsOfDepth(t *testing.T) {
	rec := func(name string, near, far float64) record.Record {
		r := record.Record{Trailer: record.Trailer{Done: true}, Header: record.Header{
			Clip: record.Clip{Name: name, Left: "/day/" + name + ".mov"}, EyeWidth: 1920, EyeHeight: 1080, Left: record.Source{RateNum: 24, RateDen: 1},
		}}
		for i := range 3 {
			m := record.Moment{Frame: 10 * i, Parallax: &depth.Spread{}, Values: map[string]stat.Measurement{
				"near_parallax": stat.Measured(near, 0.03), "far_parallax": stat.Measured(far, 0.03),
			}}
			for range depth.SpreadPercentiles {
				m.Parallax.Parallax = append(m.Parallax.Parallax, (near+far)/2)
			}
			r.Moments = append(r.Moments, m)
		}
		return r
	}
	first, second := rec("T1", -1, 1), rec("T2", -1, 3)
	first.Header.Sync.Cuts = []record.Cut{
		{Frame: 12, Before: &record.Depths{Near: stat.Measured(-1, 0.1), Far: stat.Measured(1, 0.1)}, After: &record.Depths{Near: stat.Measured(-3, 0.1), Far: stat.Measured(1.5, 0.1), Middle: -0.5}},
		{Frame: 24},
	}
	n := Results{Records: []record.Record{first, second}, Verdicts: []judge.Verdict{{Clip: "T1"}, {Clip: "T2"}}, Screens: []screen.Screen{{Width: 2}, {View: 100}}}
	r, err := newReport(n, metrics.All)
	require.NoError(t, err)
	require.Equal(t, []jumpRow{
		// 20.372′ and 81.94′ for 1 % of the width, see above.
		{From: "0:00:00.458", To: "0:00:00.500", Near: "−2.00", Middle: "−0.50", Far: "+0.50", Largest: "−41 · −164"},
		{From: "0:00:00.000", To: "0:00:00.000", Near: "0.00", Middle: "+1.00", Far: "+2.00", Largest: "+41 · +164", Clip: "T2", Page: "T2.html"},
	}, r.depth(r.clips[0]).Jumps)
	require.Empty(t, r.depth(r.clips[1]).Jumps)
}
