package metrics

import "math"

var noise = Metric{
	Name: "noise", Unit: "%", Decimals: 0,
	Doc:   "By how much more noise the right eye's picture has than the left's, at the brightness where both eyes are the same after the difference of exposure. Positive: the right eye is noisier.",
	Ideal: 0, Swap: SwapInvert, Conditional: true, Revision: 5,
	Measure: func(p *Pair) Measurement {
		b, reason := p.balance()
		if b == nil {
			return Missing(reason)
		}
		left, right := p.grains()[0], p.grains()[1]
		e := exposedBy(b.transfer, b.stops[1])
		var sum, n float64
		for _, s := range [...]float64{0.25, 0.35, 0.45, 0.55} {
			partner := e.of(s)
			if partner < max(darkest, right.drowned) || partner > brightest || s < left.drowned {
				continue
			}
			slope := (e.of(s+0.01) - e.of(s-0.01)) / 0.02
			sum += math.Log((right.variance(partner) + sq(noiseFloor)) / (slope*slope*left.variance(s) + sq(noiseFloor)))
			n++
		}
		if n == 0 {
			return Missing("no brightness at which the noise of both eyes can be seen")
		}
		ratio := math.Exp(sum / n / 2)
		return Measured(100*(ratio-1), 100*noiseUnsure*ratio)
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
