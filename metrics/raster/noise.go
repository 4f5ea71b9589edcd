package raster

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// NoiseModel is the noise of an eye's picture: in the light of one channel of one
// pixel of the frame its variance is shot·light + read, as sensors have it.
type NoiseModel struct {
	shot, read float64
	transfer   picture.Transfer
	// Drowned is the signal up to which noise reaches down to black, where it is
	// cut off and tells nothing any more.
	ClippedBelow float64
	curve        *NoiseCurve // see curve
}

const (
	// Noise is looked at in blocks of so many pixels of the full raster,
	noiseBlock = 8
	// sorted by their signal into so many levels from black to white,
	noiseLevels = 20
	// each of which needs so many blocks
	minNoiseBlocks = 12
	// to tell the noise by the block at this share from below: the quieter ones,
	// where little but noise is seen.
	quietRank = 0.2
	// grainQuietBias is how much lower than the noise such a block is, a block's
	// own estimate being that uncertain. From a simulation of white noise.
	quietBias = 0.84
	// grainStill is the noise in code values of 8 bits below which a block was not
	// seen by a sensor, but is painted, blank or cut off.
	minNoise = 0.02
	// grainDrowned is the noise, as a share of the signal, that is cut off at
	// black often enough to look weaker than it is.
	clippedNoise = 0.25
	// minUnclipped is the least light, in standard deviations of its noise, of which enough
	// is left to tell the noise.
	minUnclipped = 0.5
)

// NewNoiseModel estimates the noise of a frame from its full raster.
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
	// The raster averages pixels, and luma averages channels: both thin out noise
	// that is each pixel's own.
	toChannel := 1 / full.NoiseGain
	if f.Layout != picture.Grey {
		kr, kg, kb := f.Colour.Luma(f.Height())
		toChannel /= kr*kr + kg*kg + kb*kb
	}
	var points [][2]float64 // light and variance of light
	var clipped [2]float64  // mean and deviation of the brightest level that is cut off
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

// quiet returns the mean of a block and the deviation of the noise in it, by
// the filter of raster.grain on every other row; 0 where one of them is still.
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

// lowerLine returns the line y = slope·x + base of neither negative slope nor
// base that lies under all points and as close to them as can be in proportion:
// texture can only add to noise.
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
// the given mean and deviation, where noise reaches down to black and is cut off there.
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

// noisy returns the mean and the variance of the signals that light with noise of a
// standard deviation makes.
func clippedMoments(t picture.Transfer, light, noise float64) (mean, variance float64) {
	var n, sum, squares float64
	for z := -4.0; z <= 4; z += 0.25 {
		w, v := math.Exp(-z*z/2), t.Encode(light+z*noise)
		n, sum, squares = n+w, sum+w*v, squares+w*v*v
	}
	mean = sum / n
	return mean, squares/n - mean*mean
}

// Variance returns the variance of the signal of one channel of one pixel.
func (g *NoiseModel) Variance(signal float64) float64 {
	return (g.shot*g.transfer.Light(signal) + g.read) / stat.Sq(slope(g.transfer, signal))
}

// NoiseCurve is what noise does to signals from black to a little above white.
type NoiseCurve struct {
	variance [128]float64 // of the signal of one channel of one pixel
	// sag is by how much noise lowers the mean of a signal: the curve bends, so
	// that what noise adds counts less than what it takes, down to black, where it is
	// cut off.
	bias [128]float64
	// light is the variance of the light per variance of the signal.
	slopeSquared [128]float64
}

const noiseTop = 1.1

func (g *NoiseModel) Curve() *NoiseCurve {
	if g.curve != nil {
		return g.curve
	}
	out := new(NoiseCurve)
	g.curve = out
	t := g.transfer
	for i := range out.bias {
		v := noiseTop * float64(i) / float64(len(out.bias)-1)
		out.variance[i] = g.Variance(v)
		out.slopeSquared[i] = stat.Sq(slope(t, v))
		light := t.Light(v)
		mean, _ := clippedMoments(t, light, math.Sqrt(g.shot*light+g.read))
		out.bias[i] = max(v-mean, 0)
	}
	return out
}

// Lit returns the variance of the light per variance of the signal.
func (n *NoiseCurve) SlopeSquared(signal float64) float64 {
	return n.slopeSquared[int(min(max(signal/noiseTop, 0), 1)*float64(len(n.slopeSquared)-1)+0.5)]
}

// At returns the variance and the sag at a signal.
func (n *NoiseCurve) At(signal float64) (variance, bias float64) {
	x := min(max(signal/noiseTop, 0), 1) * float64(len(n.bias)-1)
	i := min(int(x), len(n.bias)-2)
	k := x - float64(i)
	return n.variance[i] + (n.variance[i+1]-n.variance[i])*k, n.bias[i] + (n.bias[i+1]-n.bias[i])*k
}

// steepness returns the slope of light against the signal.
func slope(t picture.Transfer, v float64) float64 {
	const h = 1e-3
	v = max(v, 2*h)
	return (t.Light(v+h) - t.Light(v-h)) / (2 * h)
}

// Blurred returns the noise that a blur of sigma pixels leaves of white noise.
func (g *NoiseModel) Blurred(sigma float64) *NoiseModel {
	kept := min(1/(4*math.Pi*sigma*sigma), 1)
	return &NoiseModel{shot: g.shot * kept, read: g.read * kept, transfer: g.transfer, ClippedBelow: g.ClippedBelow}
}
