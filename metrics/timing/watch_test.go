package timing_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/timing"
)

// watched adds the frames of two files that go together at a slip one after the other.
func watched(left, right []*picture.Signature, pairedAt int, known timing.Evidence) *timing.Watch {
	first := max(0, -pairedAt)
	w := timing.NewWatch(first, pairedAt, known)
	for i := first; i < len(left) && i+pairedAt < len(right); i++ {
		w.Add(left[i], right[i+pairedAt])
	}
	w.End()
	return w
}

// Faults and cuts anywhere in a clip of some 1,900 frames are told to the frame, in whatever
// part of a window they come, beside others and under a slip.
func TestWatch(t *testing.T) {
	street, trailer := realEyes(t, pedestrians), realEyes(t, cartoon)
	join := func(a, b []*picture.Signature) []*picture.Signature {
		back := slices.Clone(a)
		slices.Reverse(back)
		return slices.Concat(a, b[100:160], back, a)
	}
	left, right := join(street.left, trailer.left), join(street.right, trailer.right)
	cuts := []int{len(street.left), len(street.left) + 60}
	clean := watched(left, right, 0, timing.Evidence{Certain: true})
	require.Empty(t, clean.Faults)
	require.Zero(t, clean.Start)
	for _, u := range clean.Unclear {
		require.True(t, u.To <= 48 || u.From >= len(left)-48, "only ends are unclear: %v", u)
	}
	require.Equal(t, len(left), clean.Seen)
	require.Subset(t, clean.Cuts, cuts)

	black := &picture.Signature{}
	type fault = timing.FrameFault
	tests := map[string]struct {
		left, right []*picture.Signature
		pairedAt    int
		slip        int // at the start
		want        []fault
	}{
		"dropped in the middle": {left, without(right, 1200, 1201), 0, 0,
			[]fault{{Right: true, Kind: timing.Dropped, Frame: 1200, Count: 1, Step: -1, StepKnown: true}}},
		"dropped where a window ends": {left, without(right, 400, 401), 0, 0,
			[]fault{{Right: true, Kind: timing.Dropped, Frame: 400, Count: 1, Step: -1, StepKnown: true}}},
		"both eyes, one after the other": {without(left, 1300, 1301), without(right, 595, 596), 0, 0,
			[]fault{{Right: true, Kind: timing.Dropped, Frame: 595, Count: 1, Step: -1, StepKnown: true},
				{Kind: timing.Dropped, Frame: 1300, Count: 1, Step: 1, StepKnown: true}}},
		"repeated and made up for": {left, stuck(right, 1100, 2), 0, 0,
			[]fault{{Right: true, Kind: timing.Repeated, Frame: 1100, Count: 2, StepKnown: true}}},
		"held, under a slip": {left[9:], held(right, 1400, 1), 9, 9,
			[]fault{{Right: true, Kind: timing.Repeated, Frame: 1400, Count: 1, Step: 1, StepKnown: true}}},
		"dropped, the left file begun earlier": {left, without(right[12:], 500, 501), -12, -12,
			[]fault{{Right: true, Kind: timing.Dropped, Frame: 500, Count: 1, Step: -1, StepKnown: true}}},
		"black": {slices.Concat(left[:1000], []*picture.Signature{black, black}, left[1002:]), right, 0, 0,
			[]fault{{Kind: timing.Black, Frame: 1000, Count: 2, StepKnown: true}}},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			got := watched(c.left, c.right, c.pairedAt, timing.Evidence{Slip: c.slip, Certain: true})
			require.Equal(t, c.slip, got.Start)
			require.Len(t, got.Faults, len(c.want), "%+v", got.Faults)
			for i, h := range got.Faults {
				require.InDelta(t, c.want[i].Frame, h.Frame, float64(h.Within))
				require.LessOrEqual(t, h.Within, 3)
				h.Frame, h.Within = c.want[i].Frame, 0
				if h.Kind == timing.Black {
					h.StepKnown = true
				}
				require.Equal(t, c.want[i], h)
			}
		})
	}
}

func BenchmarkWatch(b *testing.B) {
	street := realEyes(b, pedestrians)
	b.ResetTimer()
	for b.Loop() {
		watched(street.left, street.right, 0, timing.Evidence{Certain: true})
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*len(street.left)), "µs/frame")
}
