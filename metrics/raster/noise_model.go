package raster

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// NoiseModel is the noise of an eye's picture as sensors make it: in the light of one
// channel of one pixel of the frame, as a share of reference white, its variance is
// shot·light + read.
type NoiseModel struct {
	shot, read float64
	transfer   picture.Transfer
	// ClippedBelow is the signal, 0 to 1, below which noise reaches down to black and is
	// clipped there, so that its size cannot be seen; 0 where there is no such noise.
	ClippedBelow float64
	curve        *NoiseCurve // see Curve
}

const (
	// Noise is estimated in blocks of noiseBlock by noiseBlock pixels of the full raster,
	// which are sorted by their signal into noiseLevels levels from black to white. A level
	// needs minNoiseBlocks blocks. Of these the one at the share quietRank from below
	// counts: the quieter ones show little but noise.
	noiseBlock     = 8
	noiseLevels    = 20
	minNoiseBlocks = 12
	quietRank      = 0.2
	// quietBias is that block's estimate over the true noise: less than 1, as each block's
	// own estimate scatters. From a simulation of white noise.
	quietBias = 0.84
	// minNoise is the noise in 8-bit code values below which a block does not come from a
	// sensor: it is drawn, blank or clipped.
	minNoise = 0.02
	// clippedNoise is the noise, as a share of the signal, from which on it is clipped at
	// black often enough to look weaker than it is.
	clippedNoise = 0.25
	// minUnclipped is the least light, in standard deviations of its noise, that leaves
	// enough of the noise unclipped to estimate it.
	minUnclipped = 0.5
)

// NewNoiseModel estimates the noise of a frame from its full raster. Without any level that
// has enough blocks the model has no noise.
func NewNoiseModel(f *picture.Frame, full *Raster) *NoiseModel {
	g := &NoiseModel{transfer: f.Colour.Transfer.Effective()}
	s := f.Signal()
	scale := float64(int(1)<<(f.Depth-8)) / float64(s.White-s.Black)
	black := float64(s.Black) / float64(s.White-s.Black)
	var levels [noiseLevels][]float64
	for by := 1; by+noiseBlock < full.Height; by += noiseBlock {
		for bx := 1; bx+noiseBlock < full.Width; bx += noiseBlock {
			mean, deviation := full.blockNoise(bx, by)
			if deviation < minNoise {
				continue
			}
			at := mean*scale - black
			if k := int(at * noiseLevels); at >= 0 && k < noiseLevels {
				levels[k] = append(levels[k], deviation*scale)
			}
		}
	}
	// The raster averages pixels and luma averages channels. Both lower the variance of
	// independent noise, which is undone here.
	toChannel := 1 / full.NoiseGain
	if f.Layout != picture.Grey {
		kr, kg, kb := f.Colour.LumaWeights(f.Height())
		toChannel /= kr*kr + kg*kg + kb*kb
	}
	var points [][2]float64 // light and variance of light
	var clipped [2]float64  // mean and deviation of the brightest level that is clipped at black
	for k, level := range levels {
		if len(level) < minNoiseBlocks {
			continue
		}
		at := (float64(k) + 0.5) / noiseLevels
		variance := stat.Sq(stat.Quantile(level, quietRank)/quietBias) * toChannel
		if variance > stat.Sq(clippedNoise*at) {
			g.ClippedBelow = float64(k+1) / noiseLevels
			clipped = [2]float64{at, math.Sqrt(variance)}
			continue
		}
		points = append(points, [2]float64{g.transfer.Light(at), variance * stat.Sq(slope(g.transfer, at))})
	}
	if g.ClippedBelow > 0 {
		if light, noise := unclipped(g.transfer, clipped[0], clipped[1]); light > minUnclipped*noise {
			points = append(points, [2]float64{light, stat.Sq(noise)})
		}
	}
	g.shot, g.read = lowerBound(points)
	return g
}

// blockNoise returns the mean of a block and the standard deviation of the noise in it, by
// Immerkær's filter on every other row; 0 and 0 where one of these rows has no noise.
func (r *Raster) blockNoise(x, y int) (mean, deviation float64) {
	var total, sum float32
	for v := y; v < y+noiseBlock; v += 2 {
		up, mid, down := r.Row(v - 1)[x-1:][:noiseBlock+2], r.Row(v)[x-1:][:noiseBlock+2], r.Row(v + 1)[x-1:][:noiseBlock+2]
		before := total
		for i := 1; i <= noiseBlock; i++ {
			d := up[i-1] - 2*up[i] + up[i+1] - 2*(mid[i-1]-2*mid[i]+mid[i+1]) + down[i-1] - 2*down[i] + down[i+1]
			total += max(d, -d)
			sum += mid[i]
		}
		if total-before < 6*minNoise*noiseBlock {
			return 0, 0
		}
	}
	const n = noiseBlock * noiseBlock / 2
	return float64(sum) / n, math.Sqrt(math.Pi/2) / 6 * float64(total) / n / r.noiseResponse()
}

// lowerBound returns the line y = slope·x + base, neither of them negative, that lies under all
// points and as close to them as possible in proportion: texture can only add to noise. It
// is 0 without points.
func lowerBound(points [][2]float64) (slope, base float64) {
	if len(points) == 0 {
		return 0, 0
	}
	best := math.Inf(-1)
	try := func(s, b float64) {
		if s < 0 || b < 0 {
			return
		}
		sum := 0.0
		for _, p := range points {
			y := s*p[0] + b
			if y > p[1]*(1+1e-9) {
				return
			}
			if p[1] > 0 {
				sum += y / p[1]
			}
		}
		if sum > best {
			best, slope, base = sum, s, b
		}
	}
	flat, steep := math.Inf(1), math.Inf(1)
	for _, p := range points {
		flat = min(flat, p[1])
		if p[0] > 0 {
			steep = min(steep, p[1]/p[0])
		}
	}
	try(0, flat)
	if !math.IsInf(steep, 1) {
		try(steep, 0)
	}
	for i, p := range points {
		for _, q := range points[i+1:] {
			s := (q[1] - p[1]) / (q[0] - p[0])
			try(s, p[1]-s*p[0])
		}
	}
	return slope, base
}

// unclipped returns the light and the standard deviation of its noise that make signals of
// the given mean and deviation after clipping at black.
func unclipped(t picture.Transfer, mean, deviation float64) (light, noise float64) {
	low, high := 0.0, t.Light(mean+2*deviation)
	for range 24 {
		noise = (low + high) / 2
		dark, bright := -8*noise, t.Light(mean+deviation)
		var squares float64
		for range 24 {
			light = (dark + bright) / 2
			var at float64
			if at, squares = clippedMoments(t, light, noise); at < mean {
				dark = light
			} else {
				bright = light
			}
		}
		if squares < stat.Sq(deviation) {
			low = noise
		} else {
			high = noise
		}
	}
	return light, noise
}

// clippedMoments returns the mean and the variance of the signals that light makes with Gaussian
// noise of a standard deviation, clipped at black.
func clippedMoments(t picture.Transfer, light, noise float64) (mean, variance float64) {
	var n, sum, squares float64
	for z := -4.0; z <= 4; z += 0.25 {
		w, v := math.Exp(-z*z/2), t.Encode(light+z*noise)
		n, sum, squares = n+w, sum+w*v, squares+w*v*v
	}
	mean = sum / n
	return mean, squares/n - mean*mean
}

// Variance returns the variance of a signal from 0 to 1 of one channel of one pixel of the
// frame.
func (g *NoiseModel) Variance(signal float64) float64 {
	return (g.shot*g.transfer.Light(signal) + g.read) / stat.Sq(slope(g.transfer, signal))
}

// slope returns the derivative of light with respect to the signal v; near black that of a
// signal a little above it.
func slope(t picture.Transfer, v float64) float64 {
	const h = 1e-3
	v = max(v, 2*h)
	return (t.Light(v+h) - t.Light(v-h)) / (2 * h)
}

// Blurred returns what a Gaussian blur of sigma pixels of the frame leaves of the noise, which is
// taken for white.
func (g *NoiseModel) Blurred(sigma float64) *NoiseModel {
	kept := min(1/(4*math.Pi*sigma*sigma), 1)
	return &NoiseModel{shot: g.shot * kept, read: g.read * kept, transfer: g.transfer, ClippedBelow: g.ClippedBelow}
}
