// Package stat holds the statistics that all measurements share.
//
// Measurement is what every metric returns: a value with its standard error, or
// the reason why there is none. A value that could not be measured is never 0, −1
// or NaN.
//
// Regression is weighted linear least squares made robust by Tukey's biweight (A. E.
// Beaton, J. W. Tukey, "The fitting of power series, meaning polynomials,
// illustrated on band-spectroscopic data", Technometrics 16(2), 1974; from memory).
// It is solved by iteratively reweighted least squares: the weights follow from the
// residuals, the coefficients from the weights. The first rounds use Huber's weights
// (P. J. Huber, "Robust estimation of a location parameter", Annals of Mathematical
// Statistics 35(1), 1964; from memory), whose loss is convex, so that the outcome does
// not depend on where the fit starts; the biweight then gives no weight at all to
// values that belong to something else. Coefficients may have a Gaussian prior around
// zero (ridge regression). Regression.Sandwich gives standard errors that hold where
// values near each other share their errors.
//
// The other functions are quantiles, the jackknife and small arithmetic. Nothing here
// handles NaN: callers leave out what they could not measure.
package stat
