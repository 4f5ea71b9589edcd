package reports

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc"
)

func TestExceeded(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name      string
		low, high float64
		value     float64
		status    qc.Status
		bound     float64
		ok        bool
		excess    float64
	}{
		{"above", -1, 2, 3, qc.Failed, 2, true, 0.5},
		{"below", -1, 2, -3, qc.Failed, -1, true, 2},
		{"within, near the top", -1, 2, 1.9, qc.Warned, 2, true, -0.05},
		{"within, near the bottom", -1, 2, -0.9, qc.Warned, -1, true, -0.1},
		{"open below", -inf, 2, 4, qc.Failed, 2, true, 1},
		{"open above", -2, inf, -4, qc.Failed, -2, true, 1},
		{"open above, but inside", -2, inf, 5, qc.Warned, -2, true, -3.5},
		{"zero alone, above", 0, 0, 3, qc.Failed, 0, true, 3},
		{"zero alone, below", 0, 0, -3, qc.Failed, 0, true, 3},
		{"no bounds", -inf, inf, 3, qc.Failed, 0, false, 0},
		{"unmeasured, symmetric", -2, 2, 0, qc.Unmeasured, 2, true, 0},
		{"unmeasured, lopsided", -1, 2, 0, qc.Unmeasured, 0, false, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := qc.Finding{Status: c.status, Value: c.value, Limit: qc.Limit{Low: c.low, High: c.high}}
			b, ok := exceeded(f)
			require.Equal(t, c.ok, ok)
			if ok {
				require.Equal(t, c.bound, b)
			}
			require.InDelta(t, c.excess, excess(f), 1e-12)
		})
	}
}

func TestWorstFirst(t *testing.T) {
	r, err := newReport(night(t), columns)
	require.NoError(t, err)
	var statuses []qc.Status
	var names []string
	for _, c := range r.worst {
		statuses = append(statuses, c.verdict.Status)
		names = append(names, c.name())
	}
	require.Equal(t, []qc.Status{qc.Failed, qc.Failed, qc.Failed, qc.Failed, qc.Unmeasured, qc.Unmeasured, qc.Unmeasured,
		qc.Warned, qc.Warned, qc.Passed, qc.Passed}, statuses)
	// The heron's far parallax is 4.5 times its limit over; the mill wheel's roll
	// and offset are 27 % and 22 % over.
	require.Equal(t, "A004 heron", names[0])
	require.Equal(t, []string{"A002 mill wheel, closer", "A001 mill wheel"}, names[2:4])
}
