package history

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/geometry"
	"nightpair/qc/history/drawn"
)

// TestSweepOfDays draws days with a knock, a realignment, a lens change and a creep at random
// places and of three sizes, and holds that each is told at its place with an honest size. More
// of them are drawn with NIGHTPAIR_ACCURACY=1.
func TestSweepOfDays(t *testing.T) {
	seeds := uint64(6)
	if os.Getenv("NIGHTPAIR_ACCURACY") != "" {
		seeds = 100
	}
	// A clip's errors, as these scenes make them (TestStepsOfFourErrors): of roll in radians,
	// of zoom in parts.
	const rollError, zoomError = 0.00022, 0.0004
	for _, size := range []float64{4, 8, 25} { // of a clip's errors
		for _, takes := range []int{1, 4} {
			var steps, placed, honest, creeps, honestCreeps, others int
			for seed := range seeds {
				rng := rand.New(rand.NewPCG(seed, 11))
				knock := 8 + rng.IntN(15)
				again := knock + 8 + rng.IntN(10)
				lens := 10 + rng.IntN(40)
				a := drawn.Rig{Name: "A", Clips: 60, Takes: takes, At: func(clip int, _ float64) drawn.Stand {
					s := out
					if clip >= knock && clip < again {
						s.Terms[geometry.TermRoll] += size * rollError
					}
					return s
				}}
				b := drawn.Rig{Name: "B", Clips: 60, Takes: takes, Flat: true, At: func(clip int, k float64) drawn.Stand {
					s := out
					if clip >= lens {
						s.Terms[geometry.TermZoom] -= size * zoomError
					}
					s.Terms[geometry.TermRoll] += size * rollError * k
					return s
				}}
				for _, h := range FollowAll(append(a.Records(rng), b.Records(rng)...)) {
					for _, e := range h.Events {
						p := e.Parts[0]
						first := h.Rig.Name[0]
						near := func(at int) bool { return math.Abs(float64(e.To-at)) <= 3 }
						switch {
						case first == 'A' && p.Name() == metrics.Roll && p.Kind == Step && (near(knock) || near(again)):
							truth := size * rollError * degrees
							if near(again) {
								truth = -truth
							}
							steps++
							if e.To == knock || e.To == again {
								placed++
							}
							if math.Abs(p.Size.Value-truth) <= 2*p.Size.SE {
								honest++
							}
						case first == 'B' && p.Name() == metrics.Zoom && p.Kind == Step && near(lens):
							steps++
							if e.To == lens {
								placed++
							}
							if math.Abs(p.Size.Value+100*size*zoomError) <= 2*p.Size.SE {
								honest++
							}
						case first == 'B' && p.Name() == metrics.Roll && p.Kind == Creep:
							creeps++
							truth := size * rollError * degrees * (h.Rig.Clips[p.To].Hours - h.Rig.Clips[p.From].Hours) / h.Rig.Clips[59].Hours
							if math.Abs(p.Size.Value-truth) <= 2*p.Size.SE {
								honestCreeps++
							}
						default:
							others++
						}
					}
				}
			}
			n := float64(seeds)
			t.Logf("%g errors, %d takes: %.2f of steps, %.2f of them placed, %.2f honest; %.2f of creeps, %.2f honest; %d others",
				size, takes, float64(steps)/3/n, float64(placed)/float64(steps), float64(honest)/float64(steps), float64(creeps)/n, float64(honestCreeps)/float64(max(creeps, 1)), others)
			// With few days a few misses weigh much.
			enough := 0.9
			if n < 50 {
				enough = 0.75
			}
			require.GreaterOrEqual(t, float64(honest), enough*float64(steps))
			require.GreaterOrEqual(t, float64(honestCreeps), enough*float64(creeps))
			require.GreaterOrEqual(t, float64(placed), 0.9*float64(steps))
			if size > 4 {
				require.GreaterOrEqual(t, float64(steps), enough*3*n)
				require.GreaterOrEqual(t, float64(creeps), 0.95*n)
				require.LessOrEqual(t, float64(others), 0.02*n)
			}
			// A creep of four errors of a clip over a whole day may pass for a step; a step that
			// few scenes tell may be missed.
			if takes == 1 {
				require.GreaterOrEqual(t, float64(steps), 0.95*3*n)
			}
		}
	}
}
