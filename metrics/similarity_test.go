package metrics

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// A picture of waves is turned as the waves themselves turn: six taps leave 2 %
// of waves seven pixels long.
func TestTurnedPictureShowsTurnedWaves(t *testing.T) {
	wave := func(x, y float64) float64 {
		return 100 * math.Sin(0.7*x+0.2*y) * math.Cos(0.15*x-0.6*y+1)
	}
	r := newRaster(90, 70)
	for y := range r.height {
		for x := range r.width {
			r.row(y)[x] = float32(wave(float64(x), float64(y)))
		}
	}
	for _, test := range []struct{ degrees, size, down float64 }{
		{0, 1.08, 0}, {5, 1, 2.3}, {-8, 0.92, -3.6}, {8, 1.15, 0}, {-0.3, 1, 0.5},
	} {
		t.Run(fmt.Sprint(test), func(t *testing.T) {
			sin, cos := math.Sincos(test.degrees * math.Pi / 180)
			s := similarity{cos: test.size * cos, sin: test.size * sin, down: test.down, cx: 44.5, cy: 34.5}
			whole := s.warp(r)
			seen := 0
			for y := range whole.height {
				for x := range whole.width {
					px, py := s.apply(float64(x), float64(y))
					if px < 3 || py < 3 || px > float64(r.width-5) || py > float64(r.height-5) {
						continue
					}
					require.InDelta(t, wave(px, py), whole.row(y)[x], 2, "at %d, %d", x, y)
					seen++
				}
			}
			require.Greater(t, seen, r.width*r.height*3/5)

			var patch [patchSize]float32
			require.True(t, s.patch(&patch, r, 40.3, 33.8))
			for k, got := range patch {
				px, py := s.apply(40.3+float64(k%patchSide-patchRadius), 33.8+float64(k/patchSide-patchRadius))
				require.InDelta(t, wave(px, py), got, 2, "at %d of the patch", k)
			}
			require.False(t, s.patch(&patch, r, 9, 33))
			require.False(t, s.patch(&patch, r, 40, 63))
		})
	}
}

// What a turned picture shows beyond the other's border is the nearest pixel, whichever
// border it is.
func TestTurnedPictureBeyondTheBorder(t *testing.T) {
	const middle = 15
	across, down := newRaster(40, 30), newRaster(40, 30)
	for y := range across.height {
		for x := range across.width {
			across.row(y)[x], down.row(y)[x] = 10, 10
			if x >= middle {
				across.row(y)[x] = 30
			}
			if y >= middle {
				down.row(y)[x] = 30
			}
		}
	}
	for _, moved := range []float64{-20, 12} {
		s := similarity{cos: 1.1, sin: 0.1, down: moved, cx: 19.5, cy: 14.5}
		acrossTurned, downTurned := s.warp(across), s.warp(down)
		var left, right, above, below int
		for y := range across.height {
			for x := range across.width {
				px, py := s.apply(float64(x), float64(y))
				for _, seen := range []struct {
					at  float64
					got float32
				}{{px, acrossTurned.row(y)[x]}, {py, downTurned.row(y)[x]}} {
					switch {
					case seen.at < middle-4:
						require.InDelta(t, 10, seen.got, 1e-4, "at %d, %d", x, y)
					case seen.at > middle+3:
						require.InDelta(t, 30, seen.got, 1e-4, "at %d, %d", x, y)
					}
				}
				switch {
				case px < 0:
					left++
				case px > 39:
					right++
				}
				switch {
				case py < 0:
					above++
				case py > 29:
					below++
				}
			}
		}
		require.NotZero(t, left)
		require.NotZero(t, right)
		require.NotZero(t, above+below)
	}
}
