package reports

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/judge"
	"nightpair/qc/record"
)

func TestRivalryMap(t *testing.T) {
	rec := oneMoment("pond", map[string]stat.Measurement{"rivalry": stat.Measured(2, 0.1)})
	n := Results{Records: []record.Record{rec}, Verdicts: []judge.Verdict{{Clip: "pond", Status: judge.Warned}}}
	r, err := newReport(n, columns)
	require.NoError(t, err)
	require.Nil(t, r.clips[0].rivalry(), "no map")

	m := make(metrics.RivalryMap, metrics.RivalryColumns*metrics.RivalryRows)
	m[2*metrics.RivalryColumns+31], m[0] = 80, 4
	n.Records[0].Moments[0].Rivalry = m
	r, err = newReport(n, columns)
	require.NoError(t, err)
	require.Equal(t, []rivalryPart{{31, 2, "0.80"}}, r.clips[0].rivalry().Parts)

	dir := t.TempDir()
	require.NoError(t, Write(dir, n))
	page, err := os.ReadFile(filepath.Join(dir, "clips", "pond.html"))
	require.NoError(t, err)
	require.Contains(t, string(page), "Where the eyes differ in light")
	require.Contains(t, string(page), `<rect x="31" y="2" width="1" height="1" fill-opacity="0.80"/>`)
}
