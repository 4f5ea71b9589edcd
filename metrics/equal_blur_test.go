package metrics_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// Of an eye far out of focus the blur is measured, and all else as well as ever.
func TestEyeFarOutOfFocus(t *testing.T) {
	scenes := everyday
	if !synth.LongSweeps() {
		scenes = []string{"street", "blinds"}
	}
	names := []string{"softness", "exposure", "vertical_offset", "roll"}
	for i, name := range scenes {
		left, right := filmedAt(t, name, 1920)
		for _, blur := range []float64{8, 16} {
			sign := 1 - 2*float64(i%2)
			t.Run(fmt.Sprintf("%s, %+v px", name, sign*blur), func(t *testing.T) {
				l := developing{layout: picture.YCbCr, noise: 1, seed: 3, blur: max(-sign*blur, 0)}
				r := developing{layout: picture.YCbCr, noise: 1, seed: 4, blur: max(sign*blur, 0), exposure: -0.5}
				got := readings(t, &metrics.Pair{Left: left.develop(l), Right: right.develop(r)}, names...)
				t.Log(describe(names, got))
				for _, m := range got {
					require.True(t, m.OK(), m.Missing)
				}
				require.InDelta(t, sign*blur, got[0].Value, 0.07*blur)
				require.InDelta(t, sign*blur, got[0].Value, 3*got[0].SE)
				require.InDelta(t, -0.5, got[1].Value, max(0.05, 3*got[1].SE))
				// In % of the picture height, and degrees: the project's own choice.
				require.Less(t, math.Abs(got[2].Value), max(0.15, 3*got[2].SE))
				require.Less(t, math.Abs(got[3].Value), max(0.05, 3*got[3].SE))
			})
		}
	}
}
