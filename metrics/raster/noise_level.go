package raster

import (
	"math"

	"nightpair/metrics/stat"
)

// estimateNoise estimates the standard deviation of the noise of the raster's pixels from
// the quieter parts of the picture: by Immerkær's filter in blocks, of which the one at a
// fifth from below counts. It is 0 for a raster smaller than a block.
func (r *Raster) estimateNoise() float64 {
	const block = 32
	var blocks []float64
	for by := 1; by+block < r.Height; by += block {
		for bx := 1; bx+block < r.Width; bx += block {
			var sum float64
			for y := by; y < by+block; y += 2 {
				up, mid, down := r.Row(y-1), r.Row(y), r.Row(y+1)
				for x := bx; x < bx+block; x++ {
					v := up[x-1] - 2*up[x] + up[x+1] -
						2*(mid[x-1]-2*mid[x]+mid[x+1]) +
						down[x-1] - 2*down[x] + down[x+1]
					sum += math.Abs(float64(v))
				}
			}
			// E|v| of the filter's response is 6σ·√(2/π).
			blocks = append(blocks, math.Sqrt(math.Pi/2)/6*sum/(block*block/2))
		}
	}
	if len(blocks) == 0 {
		return 0
	}
	return stat.Quantile(blocks, 0.2) / r.noiseResponse()
}

// noiseResponse returns how strongly Immerkær's filter responds to the raster's noise, as a
// share of its response to noise that is independent in each pixel.
func (r *Raster) noiseResponse() float64 { return 1 - 4.0/3*r.NoiseCorrelation }
