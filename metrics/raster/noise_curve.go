package raster

import (
	"math"

	"nightpair/metrics/stat"
)

// NoiseCurve is what noise does to signals, as tables from black to a little above white.
type NoiseCurve struct {
	variance [128]float64 // of the signal of one channel of one pixel of the frame
	// bias is by how much noise lowers the mean of a signal: the transfer curve is concave,
	// and at black noise is clipped.
	bias         [128]float64
	slopeSquared [128]float64 // see SlopeSquared
}

const noiseTop = 1.1 // the largest signal of the tables

// Curve returns the tables of the model. They are made once.
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

// SlopeSquared returns the variance of the light over that of the signal: the squared
// derivative of light with respect to the signal, without interpolation.
func (n *NoiseCurve) SlopeSquared(signal float64) float64 {
	return n.slopeSquared[int(min(max(signal/noiseTop, 0), 1)*float64(len(n.slopeSquared)-1)+0.5)]
}

// At returns the variance of a signal and by how much its mean is lowered by noise, both for one
// channel of one pixel of the frame. Signals outside of the tables are read as their ends.
func (n *NoiseCurve) At(signal float64) (variance, bias float64) {
	x := min(max(signal/noiseTop, 0), 1) * float64(len(n.bias)-1)
	i := min(int(x), len(n.bias)-2)
	k := x - float64(i)
	return n.variance[i] + (n.variance[i+1]-n.variance[i])*k, n.bias[i] + (n.bias[i+1]-n.bias[i])*k
}
