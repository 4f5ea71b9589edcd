package stat

import (
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Lags correlates sequences at every lag by Fourier transform (the cross-correlation theorem), as
// if zeros went before and after each. It is not for use by several goroutines at once.
type Lags struct {
	fft    *fourier.FFT
	padded []float64
}

// NewLags returns what correlates sequences whose lengths come to no more than length together.
func NewLags(length int) *Lags {
	n := 1
	for n < length {
		n *= 2
	}
	return &Lags{fourier.NewFFT(n), make([]float64, n)}
}

// Spectrum returns the transform of a sequence, in dst unless that is nil.
func (l *Lags) Spectrum(dst []complex128, sequence []float64) []complex128 {
	clear(l.padded[copy(l.padded, sequence):])
	return l.fft.Coefficients(dst, l.padded)
}

// AddProduct adds to dst the product of two spectra, as Correlation takes it. A nil dst is made, so
// that the products of several pairs of sequences may be added up.
func (l *Lags) AddProduct(dst, left, right []complex128) []complex128 {
	if dst == nil {
		dst = make([]complex128, len(left))
	}
	for i, v := range left {
		dst[i] += right[i] * cmplx.Conj(v)
	}
	return dst
}

// Reach is the largest lag, either way, that Correlation may be asked for.
func (l *Lags) Reach() int { return len(l.padded)/2 - 1 }

// Correlation returns the sums of left[i]·right[i+lag] over all i by the product of the sequences'
// spectra, for lags shorter than the transform.
func (l *Lags) Correlation(product []complex128) (at func(lag int) float64) {
	n := len(l.padded)
	sums := l.fft.Sequence(nil, product)
	return func(lag int) float64 { return sums[(lag+n)%n] / float64(n) }
}
