package reports

import (
	"bytes"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/record"
	"nightpair/qc/screen"
	"nightpair/qc/target"
)

func TestTargetTables(t *testing.T) {
	n := Results{Screens: []screen.Screen{{}}}
	var targets []target.Target
	for i, z := range []float64{0.9, 1.4, 1.5, 2.4} {
		r := record.Record{Header: record.Header{Clip: record.Clip{Name: fmt.Sprint("c", i)}, EyeWidth: 1920, EyeHeight: 1080}, Trailer: record.Trailer{Done: true}}
		v := 7.15 * (1/2.0 - 1/z)
		if i == 2 {
			v += 0.2
		}
		for range 3 {
			r.Moments = append(r.Moments, record.Moment{Values: map[string]stat.Measurement{"focus_parallax": stat.Measured(v, 0.02)}})
		}
		n.Records = append(n.Records, r)
		n.Verdicts = append(n.Verdicts, judge.Verdict{Clip: r.Header.Clip.Name, Status: judge.Passed})
		targets = append(targets, target.Target{Clip: r.Header.Clip.Name, Metres: z, Setup: "35 mm"})
	}
	targets = append(targets, target.Target{Clip: "lost", Metres: 3, Setup: "35 mm"}, target.Target{Clip: "c0", Metres: 0.9, Converged: math.Inf(1), Setup: "zoom"})
	n.Targets = target.FitAll(n.Records, targets)
	r, err := newReport(n, metrics.All)
	require.NoError(t, err)
	tables := r.targetTables()
	require.Len(t, tables, 2)
	require.Regexp(t, `By these targets b·f is 7\.\d\d ± 0\.\d\d % of the width × m\. The cameras converge at 1\.\d\d ± 0\.\d\d m\.$`, tables[0].Lead)
	require.Len(t, tables[0].Rows, 5)
	row := tables[0].Rows[2]
	require.Equal(t, "c2", row.Clip)
	require.Equal(t, "clips/c2.html", string(row.Page))
	require.Equal(t, "1.50", row.Metres)
	require.Equal(t, "−0.992 ± 0.040", row.Parallax)
	require.Regexp(t, `^\+0\.2\d\d ± 0\.\d\d\d$`, row.Apart)
	require.Equal(t, targetTableRow{Clip: "lost", Metres: "3.00", Missing: "the report holds no clip of that name"}, tables[0].Rows[4])
	require.True(t, tables[1].Told)
	require.Equal(t, "parallel", tables[1].Rows[0].Converged)

	var page bytes.Buffer
	require.NoError(t, parsePages().ExecuteTemplate(&page, "morning", r.morningPage()))
	require.Contains(t, page.String(), "Targets at known distances: 35 mm")
	require.Contains(t, page.String(), "<th scope=\"col\" class=\"number\">converged<br/>m</th>")
	limits := []judge.Limit{{Metric: "focus_parallax", Statistic: judge.OnTargets, Low: -0.1, High: 0.1, Severity: judge.Warn}}
	n.Day = judge.OverDay(nil, n.Targets, limits)
	r, err = newReport(n, metrics.All)
	require.NoError(t, err)
	work := r.workOnRig()
	require.Len(t, work, 1)
	require.Equal(t, "focus parallax of targets does not follow from their distance", work[0].Fault)
	require.Equal(t, []workClip{{Name: "c2", Page: "clips/c2.html"}}, work[0].Clips)
	n.Targets = nil
	r, err = newReport(n, metrics.All)
	require.NoError(t, err)
	page.Reset()
	require.NoError(t, parsePages().ExecuteTemplate(&page, "morning", r.morningPage()))
	require.NotContains(t, page.String(), "Targets at known")
}
