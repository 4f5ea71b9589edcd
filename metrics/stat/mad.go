package stat

// MADToSigma times the median of the absolute deviations from the centre estimates
// the standard deviation of values with Gaussian errors, outliers or not: it is
// 1/Φ⁻¹(¾) (F. R. Hampel, "The influence curve and its role in robust estimation",
// Journal of the American Statistical Association 69, 1974; from memory).
const MADToSigma = 1.4826
