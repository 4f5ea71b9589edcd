package judge

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

func TestFacts(t *testing.T) {
	film := record.Source{Width: 1920, Height: 1080, Frames: 240, RateNum: 24, RateDen: 1, PixelAspect: 1, Colour: "BT.709", Timecode: "10:00:00:00"}
	drop := film
	drop.RateNum, drop.RateDen, drop.Timecode = 30000, 1001, "00:00:59;29"
	with := func(s record.Source, change func(*record.Source)) record.Source {
		change(&s)
		return s
	}
	for _, c := range []struct {
		name        string
		fact        string
		left, right record.Source
		slip        int
		want        float64
		missing     string
	}{
		{name: "equal", fact: "frames_difference", left: film, right: film},
		{name: "longer", fact: "frames_difference", left: film, right: with(film, func(s *record.Source) { s.Frames += 3 }), want: 3},
		{name: "unknown", fact: "frames_difference", left: film, missing: "a file does not say how many frames it has"},
		{name: "24 and 23.976", fact: "rate_difference", left: with(film, func(s *record.Source) { s.RateNum, s.RateDen = 24000, 1001 }), right: film, want: 0.1},
		{name: "taller", fact: "size_difference", left: film, right: with(film, func(s *record.Source) { s.Height = 1620 }), want: 50},
		{name: "half", fact: "size_difference", left: film, right: with(film, func(s *record.Source) { s.Width, s.Height = 960, 540 }), want: -50},
		{name: "silent is square", fact: "aspect_difference", left: film, right: with(film, func(s *record.Source) { s.PixelAspect = 0 })},
		{name: "wide pixels", fact: "aspect_difference", left: film, right: with(film, func(s *record.Source) { s.PixelAspect = 2 }), want: 100},
		{name: "later", fact: "timecode_difference", left: film, right: with(film, func(s *record.Source) { s.Timecode = "10:00:01:02" }), want: 26},
		{name: "later, as the pictures are", fact: "timecode_difference", left: film, right: with(film, func(s *record.Source) { s.Timecode = "10:00:01:02" }), slip: -26},
		{name: "across midnight", fact: "timecode_difference", left: with(film, func(s *record.Source) { s.Timecode = "23:59:59:23" }), right: with(film, func(s *record.Source) { s.Timecode = "00:00:00:00" }), want: 1},
		// SMPTE ST 12-1: the label after 00:00:59;29 is 00:01:00;02.
		{name: "drop frame", fact: "timecode_difference", left: drop, right: with(drop, func(s *record.Source) { s.Timecode = "00:01:00;02" }), want: 1},
		{name: "drop frame across midnight", fact: "timecode_difference", left: with(drop, func(s *record.Source) { s.Timecode = "00:00:00;00" }), right: with(drop, func(s *record.Source) { s.Timecode = "23:59:59;29" }), want: -1},
		{name: "unlike counting", fact: "timecode_difference", left: drop, right: film, missing: "the files' timecodes are counted in unlike ways"},
		{name: "no label", fact: "timecode_difference", left: film, right: with(film, func(s *record.Source) { s.Timecode = "" }), missing: "a file has no timecode"},
		{name: "not a label", fact: "timecode_difference", left: film, right: with(film, func(s *record.Source) { s.Timecode = "10:00:00:24" }), missing: "the timecode is not valid at this frame rate"},
		{name: "unlike tags", fact: "colour_tags_difference", left: film, right: with(film, func(s *record.Source) { s.Colour = "" }), want: 1},
	} {
		t.Run(c.fact+" "+c.name, func(t *testing.T) {
			fact, ok := LookupFact(c.fact)
			require.True(t, ok)
			got := fact.Of(record.Record{Header: record.Header{Left: c.left, Right: c.right, Setup: record.Setup{Packing: record.Separate, Slip: c.slip}}})
			require.Equal(t, c.missing, got.Missing)
			require.Equal(t, c.missing == "", got.OK())
			require.InDelta(t, c.want, got.Value, 1e-9)
			require.Zero(t, got.SE)
		})
	}
	lost, _ := LookupFact("lost_moments")
	require.Equal(t, stat.Measured(2, 0), lost.Of(record.Record{Trailer: record.Trailer{Lost: []int{3, 8}}}))
	for _, fact := range Facts {
		require.NotEmpty(t, fact.Doc)
		if _, ok := faultFacts[fact.Name]; ok || fact.Name == "lost_moments" || fact.Name == "focus_lag" || fact.Name == "right_axis" || strings.HasPrefix(fact.Name, "lens_") {
			continue // of one file as of two
		}
		got := fact.Of(record.Record{Header: record.Header{Setup: record.Setup{Packing: record.SideBySide}}})
		require.Equal(t, "one file holds both eyes", got.Missing)
	}
}
