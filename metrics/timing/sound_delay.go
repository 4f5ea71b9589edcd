package timing

import (
	"math"
	"math/cmplx"

	"nightpair/metrics/stat"
)

const (
	// minPeakRatio is by how many times the peak of the correlation must exceed the largest
	// value elsewhere, and echoTime how far from the peak, in seconds, elsewhere begins: a
	// sound and its first echo in the room belong together.
	minPeakRatio = 1.5
	echoTime     = 0.005
	// minSound is the least length of sound in seconds.
	minSound = 0.5
)

// SoundDelay returns by how many samples the right camera's sound is late, at rate samples
// per second and up to reach samples either way, with a standard error of half a sample. It
// is the generalised cross-correlation with phase transform, GCC-PHAT (C. Knapp, G. Carter,
// "The generalized correlation method for estimation of time delay", IEEE Transactions on
// Acoustics, Speech, and Signal Processing 24(4), 1976): level and colouring by the
// microphones do not matter. It is missing for less than minSound, for silence, and where
// nothing stands out within reach.
func SoundDelay(left, right []float32, rate float64, reach int) stat.Measurement {
	if shorter := float64(min(len(left), len(right))); rate <= 0 || shorter < minSound*rate {
		return stat.Missing("too little sound")
	}
	transform := stat.NewLags(len(left) + len(right))
	spectrum := func(sound []float32) []complex128 {
		var mean float64
		for _, v := range sound {
			mean += float64(v) / float64(len(sound))
		}
		centred := make([]float64, len(sound))
		for i, v := range sound {
			centred[i] = float64(v) - mean
		}
		return transform.Spectrum(nil, centred)
	}
	product := transform.AddProduct(nil, spectrum(left), spectrum(right))
	var strongest float64
	for _, v := range product {
		strongest = max(strongest, cmplx.Abs(v))
	}
	if strongest == 0 {
		return stat.Missing("silence")
	}
	// Without power there is no phase.
	const faint = 1e-9
	for i, v := range product {
		product[i] = v / complex(max(cmplx.Abs(v), faint*strongest), 0)
	}
	at := transform.Correlation(product)
	reach = min(reach, transform.Reach())
	best := -reach
	for lag := -reach; lag <= reach; lag++ {
		if at(lag) > at(best) {
			best = lag
		}
	}
	near, next := int(echoTime*rate), 0.0
	for lag := -reach; lag <= reach; lag++ {
		if stat.Abs(lag-best) > near {
			next = max(next, math.Abs(at(lag)))
		}
	}
	if best == -reach || best == reach || at(best) < minPeakRatio*next {
		return stat.Missing("the eyes' sounds have too little in common")
	}
	// The vertex of a parabola is not exact for such a peak: half a sample is allowed.
	return stat.Measured(float64(best)+stat.ParabolaPeak(at(best-1), at(best), at(best+1)), 0.5)
}
