package geometry

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/raster"
)

// waves draws a texture of sines whose finest waves are about four pixels long, shifted
// exactly by (dx, dy).
func waves(width, height int, dx, dy float64, seed uint64) *raster.Raster {
	rng := rand.New(rand.NewPCG(seed, 1))
	type wave struct{ kx, ky, phase, size float64 }
	all := make([]wave, 60)
	for i := range all {
		k := 2 * math.Pi / (4 * math.Exp(rng.Float64()*2.5))
		a := rng.Float64() * 2 * math.Pi
		all[i] = wave{k * math.Cos(a), k * math.Sin(a), rng.Float64() * 2 * math.Pi, 8}
	}
	r := raster.NewRaster(width, height)
	for y := range height {
		row := r.Row(y)
		for x := range row {
			v := 128.0
			for _, w := range all {
				v += w.size / 2 * math.Sin(w.kx*(float64(x)-dx)+w.ky*(float64(y)-dy)+w.phase)
			}
			row[x] = float32(v)
		}
	}
	return r
}

// grainy returns the raster with noise.
func grainy(r *raster.Raster, deviation float64, rng *rand.Rand) *raster.Raster {
	out := *r
	out.Pix = slices.Clone(r.Pix)
	for i := range out.Pix {
		out.Pix[i] += float32(rng.NormFloat64() * deviation)
	}
	return &out
}

// One correspondence at known sub-pixel shifts. The bias is what does not average out
// over many: bilinear and cubic interpolation would leave 0.02 px of it. The scatter is
// that of these rather smooth waves, a fifth above what was measured.
func TestBiasOfOneCorrespondence(t *testing.T) {
	const seeds = 2
	shifts := []float64{0, 0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9}
	var lefts [seeds]*raster.Raster
	var rights [seeds][]*raster.Raster
	for seed := range lefts {
		lefts[seed] = waves(240, 240, 0, 0, uint64(seed))
		for _, shift := range shifts {
			rights[seed] = append(rights[seed], waves(240, 240, 0.3, shift, uint64(seed)))
		}
	}
	for _, test := range []struct{ noise, scatter float64 }{{0, 0.006}, {2, 0.034}, {4, 0.068}} {
		t.Run(fmt.Sprintf("noise %v", test.noise), func(t *testing.T) {
			for i, shift := range shifts {
				var sum, sum2, n, predicted float64
				for seed := range lefts {
					rng := rand.New(rand.NewPCG(uint64(seed), 9))
					l, r := grainy(lefts[seed], test.noise, rng), grainy(rights[seed][i], test.noise, rng)
					var tm template
					for y := 20; y < 220; y += 7 {
						for x := 20; x < 220; x += 7 {
							if !tm.prepare(l, x, y) {
								continue
							}
							g, ok := tm.refine(r, float64(x), float64(y))
							if !ok {
								continue
							}
							e := g.y - float64(y) - shift
							sum += e
							sum2 += e * e
							predicted += g.sy * g.sy
							n++
						}
					}
				}
				bias, rms := sum/n, math.Sqrt(sum2/n)
				t.Logf("shift %.2f: %v places, bias %+.4f px, rms %.4f, predicted %.4f", shift, n, bias, rms, math.Sqrt(predicted/n))
				require.Greater(t, n, 1500.0)
				require.InDelta(t, 0, bias, 0.004)
				require.Less(t, rms, test.scatter)
				if test.noise > 0 {
					require.InEpsilon(t, rms, math.Sqrt(predicted/n), 0.4, "the predicted standard error")
				}
			}
		})
	}
}
