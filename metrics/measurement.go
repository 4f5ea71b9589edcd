package metrics

import "nightpair/metrics/stat"

// Measurement is a value with its standard error, or the reason why it is missing. The zero
// value is a measurement that was never tried.
type Measurement = stat.Measurement
