package reports

import (
	"encoding/csv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/record"
)

func TestFixPhrases(t *testing.T) {
	rec := oneMoment("a", map[string]stat.Measurement{
		"vertical_offset": stat.Measured(1, 0.01),
		"roll":            stat.Measured(-0.5, 0.01),
		"zoom":            stat.Measured(25, 0.01),
		"keystone":        stat.Measured(0.02, 0.02),
		"exposure":        stat.Missing("too dark"),
	})
	rec.Header.Setup = record.Setup{Packing: record.Separate, Left: picture.Flop, Order: record.Swapped, Slip: 1}
	n := Results{Records: []record.Record{rec}, Verdicts: []judge.Verdict{{Clip: "a", Status: judge.Failed}}}
	r, err := newReport(n, columns)
	require.NoError(t, err)
	p := r.fixPage(r.clips[0])
	require.True(t, p.Needed)
	require.Equal(t, []string{"keystone"}, p.Small, "0.02 ± 0.04")
	require.Equal(t, []string{"exposure"}, p.Open)
	var steps []string
	for _, s := range p.Steps {
		steps = append(steps, strings.Join(strings.Fields(s.Do+" "+s.Amount+" "+s.Unit), " "))
	}
	// A picture 25 % too large is reduced by 20 %, which leaves 8.64 px of an
	// offset of 1 % of 1080 lines; turned by half a degree, 8.64·sin 0.5° =
	// 0.075 px of it lie to the side.
	require.Equal(t, []string{
		"Turn the left eye's file upright mirror it left to right",
		"Exchange the eyes the file named left is the right eye",
		"Play the right eye later 1 frame",
		"Turn the right eye clockwise 0.500 °",
		"Reduce the right eye 20.000 %",
		"Move the right eye to the right 0.1 px",
		"Move the right eye up 8.6 px",
	}, steps)
	require.Len(t, p.Corners, 4)
	require.False(t, p.Varies)
	n.Verdicts[0].Findings = []judge.Finding{{Status: judge.Warned, Limit: judge.Limit{Metric: "roll", Statistic: judge.Change}}}
	r, err = newReport(n, columns)
	require.NoError(t, err)
	require.True(t, r.fixPage(r.clips[0]).Varies, "medians are wrong for a part of the shot")
	n.Verdicts[0].Findings = nil

	n.Verdicts[0].Status = judge.Passed
	r, err = newReport(n, columns)
	require.NoError(t, err)
	require.False(t, r.fixPage(r.clips[0]).Needed)

	n.Records[0].Trailer.Failed = "vanished"
	r, err = newReport(n, columns)
	require.NoError(t, err)
	require.Nil(t, r.fixPage(r.clips[0]), "a clip that failed has no correction")
}

func TestFixesTable(t *testing.T) {
	files, _ := written(t)
	rows, err := csv.NewReader(strings.NewReader(files["fixes/transforms.csv"])).ReadAll()
	require.NoError(t, err)
	var clips []string
	for _, row := range rows {
		clips = append(clips, row[0])
	}
	// All that were measured, by name: not the orphan, not the truncated file.
	require.Equal(t, []string{"clip", "A001 mill wheel", "A002 mill wheel, closer", "A003 weir, wide", "A004 heron",
		"A005 miller, medium", "A006 crane down", "A007 night, lantern", "A010 side by side", hostile}, clips)
}
