package geometry

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/raster"
)

// A picture of waves is turned as the waves themselves turn: six taps leave 2 %
// of waves seven pixels long.
func TestTurnedPictureShowsTurnedWaves(t *testing.T) {
	wave := func(x, y float64) float64 {
		return 100 * math.Sin(0.7*x+0.2*y) * math.Cos(0.15*x-0.6*y+1)
	}
	r := raster.NewRaster(90, 70)
	for y := range r.Height {
		for x := range r.Width {
			r.Row(y)[x] = float32(wave(float64(x), float64(y)))
		}
	}
	for _, test := range []struct{ degrees, size, down float64 }{
		{0, 1.08, 0}, {5, 1, 2.3}, {-8, 0.92, -3.6}, {8, 1.15, 0}, {-0.3, 1, 0.5},
	} {
		t.Run(fmt.Sprint(test), func(t *testing.T) {
			sin, cos := math.Sincos(test.degrees * math.Pi / 180)
			s := Similarity{Cos: test.size * cos, Sin: test.size * sin, Down: test.down, cx: 44.5, cy: 34.5}
			whole := s.warp(r)
			seen := 0
			for y := range whole.Height {
				for x := range whole.Width {
					px, py := s.apply(float64(x), float64(y))
					if px < 3 || py < 3 || px > float64(r.Width-5) || py > float64(r.Height-5) {
						continue
					}
					require.InDelta(t, wave(px, py), whole.Row(y)[x], 2, "at %d, %d", x, y)
					seen++
				}
			}
			require.Greater(t, seen, r.Width*r.Height*3/5)

			var patch [raster.PatchSize]float32
			require.True(t, s.patch(&patch, r, 40.3, 33.8))
			for k, got := range patch {
				px, py := s.apply(40.3+float64(k%raster.PatchSide-raster.PatchRadius), 33.8+float64(k/raster.PatchSide-raster.PatchRadius))
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
	across, down := raster.NewRaster(40, 30), raster.NewRaster(40, 30)
	for y := range across.Height {
		for x := range across.Width {
			across.Row(y)[x], down.Row(y)[x] = 10, 10
			if x >= middle {
				across.Row(y)[x] = 30
			}
			if y >= middle {
				down.Row(y)[x] = 30
			}
		}
	}
	for _, moved := range []float64{-20, 12} {
		s := Similarity{Cos: 1.1, Sin: 0.1, Down: moved, cx: 19.5, cy: 14.5}
		acrossTurned, downTurned := s.warp(across), s.warp(down)
		var left, right, above, below int
		for y := range across.Height {
			for x := range across.Width {
				px, py := s.apply(float64(x), float64(y))
				for _, seen := range []struct {
					at  float64
					got float32
				}{{px, acrossTurned.Row(y)[x]}, {py, downTurned.Row(y)[x]}} {
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
