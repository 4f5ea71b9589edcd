package qc

import (
	"fmt"
	"math"

	"nightpair/metrics"
)

// jump returns the largest change from one measured moment to the next, with
// its sign, and the place in the series of the moment before it. There is none of
// a single moment.
func (s series) jump() (change metrics.Measurement, before int) {
	if len(s.value) < 2 {
		return metrics.Missing("there is but one moment"), 0
	}
	for i := 1; i < len(s.value); i++ {
		if math.Abs(s.value[i]-s.value[i-1]) > math.Abs(s.value[before+1]-s.value[before]) {
			before = i - 1
		}
	}
	return metrics.Measured(s.value[before+1]-s.value[before], math.Hypot(s.err[before], s.err[before+1])), before
}

// jump returns the two moments between which a metric changes most.
func (r Record) jump(metric string) (from, to Moment) {
	s, missing := r.series(metric)
	if _, before := s.jump(); missing == "" && len(s.value) > 1 {
		return r.Moments[s.moment[before]], r.Moments[s.moment[before+1]]
	}
	return Moment{Frame: -1}, Moment{Frame: -1}
}

// jumpWords says over how many frames a metric changes by so much.
func (j *judging) jumpWords(l Limit, value float64) string {
	from, to := j.record.jump(l.Metric)
	frames := to.Frame - from.Frame
	within := fmt.Sprintf("within %d frames", frames)
	if frames == 1 {
		within = "from one frame to the next"
	}
	return fmt.Sprintf("%s changes by %s%s %s", words(l.Metric), signedAmount(l, value), j.pixels(l, value), within)
}
