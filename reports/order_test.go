package reports

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc/judge"
)

func TestWorstFirst(t *testing.T) {
	r, err := newReport(night(t), columns)
	require.NoError(t, err)
	var statuses []judge.Status
	var names []string
	for _, c := range r.worst {
		statuses = append(statuses, c.verdict.Status)
		names = append(names, c.name())
	}
	require.Equal(t, []judge.Status{judge.Failed, judge.Failed, judge.Failed, judge.Failed, judge.Unmeasured, judge.Unmeasured, judge.Unmeasured,
		judge.Warned, judge.Warned, judge.Passed, judge.Passed}, statuses)
	// The heron's far parallax is 4.5 times its limit over; the mill wheel's roll
	// and offset are 27 % and 22 % over.
	require.Equal(t, "A004 heron", names[0])
	require.Equal(t, []string{"A002 mill wheel, closer", "A001 mill wheel"}, names[2:4])
}
