package timing

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/geometry"
)

// travelling returns bursts of a still scene under a camera that travels sideways and climbs
// by so many interaxial distances a frame, with a right camera that stands so many lower. A
// share of each speed is wrong, as patches cover things at several depths.
func travelling(climb, height, wrong float64) (bursts []*Burst) {
	rng := rand.New(rand.NewPCG(1, 2))
	const line = 1.0 / 1080
	for k := range 8 {
		b := &Burst{Time: time.Duration(k) * time.Second, line: line}
		for range 800 {
			parallax := -0.01 - 0.05*rng.Float64()
			x, y := 1.6*(rng.Float64()-0.5), rng.Float64()-0.5
			m := geometry.Match{LeftX: x, LeftY: y, RightX: x + parallax, RightY: y + height*parallax + 0.05*line*rng.NormFloat64(), VerticalSE: 0.05 * line}
			b.places = append(b.places, MovingMatch{Match: m, Velocity: geometry.Velocity{
				Vx: parallax, Vy: climb * parallax * (1 + wrong*rng.NormFloat64()), SE: 0.02 * line,
			}})
		}
		bursts = append(bursts, b)
	}
	return bursts
}

// Under steady travel camera height and delay make the same vertical disparity: nothing is
// said of the delay, however alike the two are.
func TestFitTimingOfTravelWithACameraTooLow(t *testing.T) {
	for _, climb := range []float64{0.05, 0.1, 0.2} {
		for _, height := range []float64{0, 0.05, 0.1} {
			for _, wrong := range []float64{0, 0.02, 0.05, 0.1} {
				got, reason := FitTiming(travelling(climb, height, wrong))
				if got == nil {
					require.Equal(t, LikeGeometry, reason)
					continue
				}
				t.Logf("climb %g, height %g, wrong %g: %.3f ± %.3f", climb, height, wrong, got.Delay, got.SE[0])
				require.True(t, math.Abs(got.Delay) <= 2*got.SE[0], "climb %g, height %g, wrong %g: %.3f ± %.3f", climb, height, wrong, got.Delay, got.SE[0])
				require.False(t, got.known(0))
				require.Equal(t, LikeGeometry, got.WhyNot(0))
			}
		}
	}
}
