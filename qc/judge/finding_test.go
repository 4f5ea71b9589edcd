package judge

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestExceeded(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name      string
		low, high float64
		value     float64
		status    Status
		bound     float64
		ok        bool
		excess    float64
	}{
		{"above", -1, 2, 3, Failed, 2, true, 0.5},
		{"below", -1, 2, -3, Failed, -1, true, 2},
		{"within, near the top", -1, 2, 1.9, Warned, 2, true, -0.05},
		{"within, near the bottom", -1, 2, -0.9, Warned, -1, true, -0.1},
		{"open below", -inf, 2, 4, Failed, 2, true, 1},
		{"open above", -2, inf, -4, Failed, -2, true, 1},
		{"open above, but inside", -2, inf, 5, Warned, -2, true, -3.5},
		{"zero alone, above", 0, 0, 3, Failed, 0, true, 3},
		{"zero alone, below", 0, 0, -3, Failed, 0, true, 3},
		{"no bounds", -inf, inf, 3, Failed, 0, false, 0},
		{"unmeasured, symmetric", -2, 2, 0, Unmeasured, 2, true, 0},
		{"unmeasured, lopsided", -1, 2, 0, Unmeasured, 0, false, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := Finding{Status: c.status, Value: c.value, Limit: Limit{Low: c.low, High: c.high}}
			b, ok := f.Exceeded()
			require.Equal(t, c.ok, ok)
			if ok {
				require.Equal(t, c.bound, b)
			}
			require.InDelta(t, c.excess, f.excess(), 1e-12)
		})
	}
}
