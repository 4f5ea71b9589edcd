package judge

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/timing"
	"nightpair/qc/record"
)

// Of eyes that are exchanged, the late one is in the other file.
func TestASlipOfExchangedEyes(t *testing.T) {
	r := recordOf(clean(nil))
	r.Header.Setup.Slip, r.Header.Setup.Order = 7, record.Swapped
	r.Header.Sync.Faults = []timing.FrameFault{{Right: true, Kind: timing.Dropped, Frame: 40, Count: 2, Step: -2, StepKnown: true}}
	var words []string
	for _, f := range Clips([]record.Record{r}, nil)[0].Findings {
		words = append(words, f.Detail)
	}
	require.Contains(t, words, "The right eye is 7 frames early. Slip it 7 frames later in post.")
	require.Equal(t, -7, Correct(r, nil).Slip)
	r.Header.Sync.Scanned = 1
	findings := Clips([]record.Record{r}, []Limit{{Metric: DroppedFrames, Statistic: Fact, Severity: Fail}})[0].Findings
	dropped := findings[slices.IndexFunc(findings, func(f Finding) bool { return f.Limit.Metric == DroppedFrames })]
	require.Contains(t, dropped.Detail, "The left eye dropped 2 frames.")
	require.Contains(t, dropped.Notes[0], "The left eye dropped 2 frames before frame 40")
	require.Contains(t, dropped.Notes[0], "the right eye is 2 frames further behind")
}

// What is said of frame faults that time stamps tell.
func TestFaultPhrasesAtVariableRate(t *testing.T) {
	r := recordOf(clean(nil))
	r.Header.Left.Variable = true
	r.Header.Sync.Faults = []timing.FrameFault{
		{Kind: timing.Dropped, Frame: 3, Count: 1, StepKnown: true, At: 167 * time.Millisecond},
		{Kind: timing.Black, Frame: 50, Count: 1, StepKnown: true, At: 2417 * time.Millisecond},
		{Right: true, Kind: timing.Repeated, Frame: 100, Count: 1, StepKnown: true, At: 4 * time.Second},
	}
	require.Equal(t, []string{"The left eye dropped 1 frame before frame 3 of its file (0:00:00.167); the eyes are in sync again after it."}, frameFaults(r, DroppedFrames))
	require.Equal(t, []string{"The left eye is black for 1 frame from frame 50 on of its file (0:00:02.417)."}, frameFaults(r, BlackFrames))
	require.Contains(t, frameFaults(r, RepeatedFrames)[0], "The right eye repeats 1 frame from frame 100 on of its file")
	require.Empty(t, frameFaults(r, LostMoments))
}
