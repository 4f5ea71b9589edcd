package judge

import (
	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// DepthRange returns the nearest and the farthest parallax of a clip, as they
// are judged: the 5th percentile over the moments of the one, the 95th of the
// other.
func DepthRange(r record.Record) (near, far stat.Measurement) {
	return Lowest.Of(r, metrics.NearParallax), Top.Of(r, metrics.FarParallax)
}
