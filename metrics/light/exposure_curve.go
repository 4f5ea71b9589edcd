package light

import (
	"math"

	"nightpair/metrics/picture"
)

// ExposureCurve is what a signal of a transfer curve becomes with 2^stops times the light.
type ExposureCurve struct {
	slope, offset float64 // of the straight line, where the curve is a power of the light
	bent          bool
	gain          float64
	transfer      picture.Transfer
}

// NewExposureCurve returns the curve for a change of exposure. Of log curves, whose shape
// files do not tell, it multiplies the code values.
func NewExposureCurve(t picture.Transfer, stops float64) ExposureCurve {
	gain := math.Exp2(stops)
	e := ExposureCurve{gain: gain, transfer: t, slope: gain}
	switch t {
	case picture.Linear, picture.LogCurve:
	case picture.SRGB:
		// Above its straight foot the curve is a power of the signal plus 0.055.
		e.slope = math.Pow(gain, 1/2.4)
		e.offset = 0.055 * (e.slope - 1)
	case picture.PQ, picture.HLG:
		e.bent = true
	default:
		e.slope = math.Pow(gain, 1/2.4)
	}
	return e
}

// Apply returns what a signal, black 0 and white 1, becomes.
func (e ExposureCurve) Apply(signal float64) float64 {
	if e.bent {
		return e.transfer.Encode(e.gain * e.transfer.Light(signal))
	}
	return e.slope*signal + e.offset
}
