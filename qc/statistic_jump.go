package qc

import (
	"fmt"
	"math"

	"nightpair/metrics/stat"
)

// jump returns the largest change of a metric from one measured moment to the next
// of the same shot, with its sign, and these two moments; or why there is none.
func (r Record) jump(s series) (change stat.Measurement, from, to Moment) {
	change = stat.Missing("no two moments are of one shot")
	for i := 1; i < len(s.value); i++ {
		before, after := r.Moments[s.moment[i-1]], r.Moments[s.moment[i]]
		if r.shot(before.Frame) != r.shot(after.Frame) {
			continue
		}
		if d := s.value[i] - s.value[i-1]; !change.OK() || math.Abs(d) > math.Abs(change.Value) {
			change, from, to = stat.Measured(d, math.Hypot(s.err[i-1], s.err[i])), before, after
		}
	}
	return change, from, to
}

// jumpMoments returns the two moments of one shot between which a metric changes
// most.
func (r Record) jumpMoments(metric string) (from, to Moment) {
	if s, missing := r.series(metric); missing == "" {
		if change, from, to := r.jump(s); change.OK() {
			return from, to
		}
	}
	return Moment{Frame: -1}, Moment{Frame: -1}
}

// jumpWords says over how many frames a metric changes by so much.
func (j *judging) jumpWords(l Limit, value float64) string {
	from, to := j.record.jumpMoments(l.Metric)
	frames := to.Frame - from.Frame
	within := fmt.Sprintf("within %d frames", frames)
	if frames == 1 {
		within = "from one frame to the next"
	}
	text := fmt.Sprintf("%s changes by %s%s %s", words(l.Metric), signedAmount(l, value), j.pixels(l, value), within)
	if j.record.Header.Sync.Scanned > 0 && !j.record.looked(from.Frame, to.Frame) {
		text += ", perhaps across a cut: the frames between were not all looked at"
	}
	return text
}
