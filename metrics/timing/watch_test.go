package timing_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/timing"
)

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
	clean := timing.WatchAll(left, right, timing.Evidence{Certain: true})
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
		slip        int // at the start
		want        []fault
	}{
		"dropped in the middle": {left, without(right, 1200, 1201), 0,
			[]fault{{Right: true, Kind: timing.Dropped, Frame: 1200, Count: 1, Step: -1, StepKnown: true}}},
		"dropped where a window ends": {left, without(right, 400, 401), 0,
			[]fault{{Right: true, Kind: timing.Dropped, Frame: 400, Count: 1, Step: -1, StepKnown: true}}},
		"both eyes, one after the other": {without(left, 1300, 1301), without(right, 595, 596), 0,
			[]fault{{Right: true, Kind: timing.Dropped, Frame: 595, Count: 1, Step: -1, StepKnown: true},
				{Kind: timing.Dropped, Frame: 1300, Count: 1, Step: 1, StepKnown: true}}},
		"repeated and made up for": {left, stuck(right, 1100, 2), 0,
			[]fault{{Right: true, Kind: timing.Repeated, Frame: 1100, Count: 2, StepKnown: true}}},
		"held, under a slip": {left[9:], held(right, 1400, 1), 9,
			[]fault{{Right: true, Kind: timing.Repeated, Frame: 1400, Count: 1, Step: 1, StepKnown: true}}},
		"dropped, the left file begun earlier": {left, without(right[12:], 500, 501), -12,
			[]fault{{Right: true, Kind: timing.Dropped, Frame: 500, Count: 1, Step: -1, StepKnown: true}}},
		"black": {slices.Concat(left[:1000], []*picture.Signature{black, black}, left[1002:]), right, 0,
			[]fault{{Kind: timing.Black, Frame: 1000, Count: 2, StepKnown: true}}},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			got := timing.WatchAll(c.left, c.right, timing.Evidence{Slip: c.slip, Certain: true})
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
		timing.WatchAll(street.left, street.right, timing.Evidence{Certain: true})
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*len(street.left)), "µs/frame")
}

// Where little moves and both files are coded alike, what coding does goes on in step whatever
// the frames show; a dropped frame is told by single cells then.
func TestWatchOfCoarselyCodedPictures(t *testing.T) {
	s := realEyes(t, pedestrians)
	coded := func(list []*picture.Signature) []*picture.Signature {
		out := make([]*picture.Signature, len(list))
		for i, sig := range list {
			c := *sig
			// What is coded anew every few frames is off by as much in the whole picture.
			each(&c, func(x, y int, v float32) float32 {
				return v + 0.6*float32((i/3*7+(x/8)*5+(y/6)*3)%4) - 0.9
			})
			out[i] = &c
		}
		return out
	}
	left, right := s.left[:600], s.right[:600]
	require.Empty(t, timing.WatchAll(coded(left), coded(right), timing.Evidence{Certain: true}).Faults)
	for _, k := range []int{110, 250, 333, 480} {
		got := timing.WatchAll(coded(left), coded(without(right, k, k+1)), timing.Evidence{Certain: true}).Faults
		require.Len(t, got, 1, "at %d: %+v", k, got)
		require.InDelta(t, k, got[0].Frame, float64(got[0].Within))
		got[0].Frame, got[0].Within = k, 0
		require.Equal(t, timing.FrameFault{Right: true, Kind: timing.Dropped, Frame: k, Count: 1, Step: -1, StepKnown: true}, got[0])
	}
}
