package metrics

import (
	"math"

	"nightpair/metrics/light"
	"nightpair/metrics/stat"
)

var noise = Metric{
	Name: "noise", Unit: "%", Decimals: 0,
	Doc:   "By how much more noise the right eye's picture has than the left's, at the brightness where both eyes are the same after the difference of exposure. Positive: the right eye is noisier.",
	Ideal: 0, Swap: SwapInvert, Conditional: true, Revision: 5,
	Measure: func(p *Pair) stat.Measurement {
		b, reason := p.balance()
		if b == nil {
			return stat.Missing(reason)
		}
		left, right := p.grains()[0], p.grains()[1]
		e := light.NewExposureCurve(b.Transfer, b.Stops[1])
		var sum, n float64
		for _, s := range [...]float64{0.25, 0.35, 0.45, 0.55} {
			partner := e.Apply(s)
			if partner < max(light.Darkest, right.Drowned) || partner > light.Brightest || s < left.Drowned {
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
		return stat.Measured(100*(ratio-1), 100*noiseUnsure*ratio)
	},
}

const (
	// noiseFloor is the noise, as a share of full scale, below which no one sees
	// it and rounding to 8 bits makes as much: half a code value.
	noiseFloor = 0.5 / 255
	// noiseUnsure is the part of a ratio of noise that is uncertain, texture being
	// taken for noise in either eye.
	noiseUnsure = 0.15
)
