package series

import (
	"math"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// Jump returns the largest change of a metric from one measured moment to the next
// of the same shot, with its sign, and these two moments; or why there is none.
func Jump(r record.Record, s Moments) (change stat.Measurement, from, to record.Moment) {
	change = stat.Missing("no two moments are of one shot")
	for i := 1; i < len(s.Value); i++ {
		before, after := r.Moments[s.Moment[i-1]], r.Moments[s.Moment[i]]
		if r.Shot(before.Frame) != r.Shot(after.Frame) {
			continue
		}
		if d := s.Value[i] - s.Value[i-1]; !change.OK() || math.Abs(d) > math.Abs(change.Value) {
			change, from, to = stat.Measured(d, math.Hypot(s.err[i-1], s.err[i])), before, after
		}
	}
	return change, from, to
}
