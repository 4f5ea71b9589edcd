package record_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

func TestSafeSlipPutsNoStretchFurtherOut(t *testing.T) {
	step := func(at, by int) timing.FrameFault {
		return timing.FrameFault{Kind: timing.Dropped, Frame: at, Count: by, Step: by, StepKnown: true}
	}
	for name, c := range map[string]struct {
		start, shown, want int
		faults             []timing.FrameFault
	}{
		"everywhere":               {start: 3, shown: 3, want: 3},
		"from a third on":          {start: 0, shown: 1, want: 0, faults: []timing.FrameFault{step(30, 1)}},
		"far out on both sides":    {start: 7, shown: 7, want: 7, faults: []timing.FrameFault{step(30, 1)}},
		"the longer one":           {start: 6, shown: 0, want: 0, faults: []timing.FrameFault{step(30, 1)}},
		"one early, then one late": {start: -1, shown: 1, want: 0, faults: []timing.FrameFault{step(30, 2)}},
		"two out, then one":        {start: 2, shown: 2, want: 2, faults: []timing.FrameFault{step(30, 2)}},
		"one out, then many":       {start: 1, shown: 4, want: 1, faults: []timing.FrameFault{step(30, 3)}},
	} {
		t.Run(name, func(t *testing.T) {
			require.Equal(t, c.want, record.Sync{Start: c.start, Faults: c.faults}.Safe(c.shown, 120))
		})
	}
}

func TestDoubtfulSlip(t *testing.T) {
	unclear := []timing.Stretch{{From: 0, To: 30}}
	doubt := func(slip int) []timing.Stretch {
		return record.Record{Header: record.Header{Setup: record.Setup{Slip: slip}, Sync: record.Sync{Unclear: unclear}}}.DoubtfulSlip()
	}
	require.Empty(t, doubt(0), "nothing is slipped")
	require.Equal(t, unclear, doubt(-1))
	require.Empty(t, doubt(40), "no step that may hide there is so large")
}
