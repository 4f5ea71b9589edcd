package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var noise = Metric{
	Name: "noise", Unit: "%", Decimals: 0,
	Doc:   "By how much more noise the right eye's picture has than the left's at the same brightness of the scene, the difference of exposure taken out. Positive: the right eye is noisier.",
	Ideal: 0, Swap: SwapInvert, Conditional: true, Revision: balanceRevision,
	Measure: func(p *Pair) Measurement {
		b := p.grade().balance
		if b == nil {
			return stat.Missing(p.grade().reason)
		}
		left, right := p.noise()[0], p.noise()[1]
		e := light.NewExposureCurve(b.Transfer, b.Stops[1])
		var sum, n float64
		for _, s := range [...]float64{0.25, 0.35, 0.45, 0.55} {
			partner := e.Apply(s)
			if partner < max(light.Darkest, right.ClippedBelow) || partner > light.Brightest || s < left.ClippedBelow {
				continue
			}
			slope := (e.Apply(s+0.01) - e.Apply(s-0.01)) / 0.02
			sum += math.Log((right.Variance(partner) + stat.Sq(noiseFloor)) / (slope*slope*left.Variance(s) + stat.Sq(noiseFloor)))
			n++
		}
		if n == 0 {
			return stat.Missing("no brightness at which the noise of both eyes can be seen")
		}
		ratio := math.Exp(sum / n / 2)
		return stat.Measured(100*(ratio-1), 100*noiseRatioSE*ratio)
	},
}

const (
	// noiseFloor is invisible noise that is added to both eyes, as a share of full scale:
	// half an 8-bit code value, about what rounding makes.
	noiseFloor = 0.5 / 255
	// noiseRatioSE is the relative standard error of the ratio: texture passes for noise
	// in either eye.
	noiseRatioSE = 0.15
)
