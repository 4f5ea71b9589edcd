package measure

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// Moments are added about what lasts for a second, until both of its ends are known to two
// frames or the added ones are used up; none where values scatter as they do.
func TestMomentsAreAddedWhereTheyDisagree(t *testing.T) {
	const frames, planned = 720, 24
	for name, test := range map[string]struct {
		from, to int
		added    int
	}{
		"clean": {frames, frames, 0},
		"step":  {300, frames, 4}, // 30 frames, halved to two
		"blip":  {315, 339, 8},
	} {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(1, 2))
			at := func(frame int) stat.Measurement {
				if frame == 405 || frame == 330 {
					return stat.Missing("nothing to see")
				}
				v := 0.01 * rng.NormFloat64()
				if frame >= test.from && frame < test.to {
					v += 0.4
				}
				return stat.Measured(v, 0.01)
			}
			var s session
			take := func(frame int, added bool) {
				for _, m := range s.seen {
					require.NotEqual(t, m.Frame, frame)
				}
				s.seen = append(s.seen, record.Moment{Frame: frame, Added: added, Values: map[string]stat.Measurement{
					metrics.RedBalance:   at(frame),
					metrics.FarParallax:  stat.Measured(rng.Float64(), 0.001), // which the scene changes
					metrics.BlackLift:    stat.Missing("no black"),
					metrics.VerticalRest: stat.Measured(0, 0),
				}})
			}
			for i := range planned {
				take((2*i+1)*frames/(2*planned), false)
			}
			added := 0
			for ; added < maxAdded; added++ {
				frame, ok := s.doubtful(record.Sync{})
				if !ok {
					break
				}
				take(frame, true)
			}
			require.InDelta(t, test.added, added, float64(min(test.added, 1)))
			for _, edge := range []int{test.from, test.to} {
				if edge == frames {
					continue
				}
				before, after := 0, frames
				for _, m := range s.seen {
					if m.Frame < edge {
						before = max(before, m.Frame)
					} else {
						after = min(after, m.Frame)
					}
				}
				require.LessOrEqual(t, after-before, resolved)
			}
		})
	}
}
