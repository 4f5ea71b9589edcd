package judge

import (
	"fmt"
	"math"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// jump returns the largest change of a metric from one measured moment to the next
// of the same shot, with its sign, and these two moments; or why there is none.
func jumpOf(r record.Record, s series) (change stat.Measurement, from, to record.Moment) {
	change = stat.Missing("no two moments are of one shot")
	for i := 1; i < len(s.value); i++ {
		before, after := r.Moments[s.moment[i-1]], r.Moments[s.moment[i]]
		if r.Shot(before.Frame) != r.Shot(after.Frame) {
			continue
		}
		if d := s.value[i] - s.value[i-1]; !change.OK() || math.Abs(d) > math.Abs(change.Value) {
			change, from, to = stat.Measured(d, math.Hypot(s.err[i-1], s.err[i])), before, after
		}
	}
	return change, from, to
}

func jumpValue(r record.Record, metric string) stat.Measurement {
	return ofSeries(func(s series) stat.Measurement {
		change, _, _ := jumpOf(r, s)
		return change
	})(r, metric)
}

func placeOfJump(r record.Record, l Limit) Place {
	s, missing := seriesOf(r, l.Metric)
	if missing != "" {
		return nowhere
	}
	change, from, to := jumpOf(r, s)
	if !change.OK() {
		return nowhere
	}
	return placeOf(from, to, to.Frame)
}

// sayJump says over how many frames a metric changes by so much.
func sayJump(_ judgedClip, f Finding) string {
	within := fmt.Sprintf("within %d frames", f.FrameTo-f.FrameFrom)
	if f.FrameTo-f.FrameFrom == 1 {
		within = "from one frame to the next"
	}
	return fmt.Sprintf("%s jumps by %s %s", Label(f.Limit.Metric), f.signedAmount(f.Value), within)
}

func jumpNotes(clip judgedClip, f Finding) []string {
	if r := clip.record; r.Header.Sync.Scanned > 0 && !r.Looked(f.FrameFrom, f.FrameTo) {
		return []string{"It may be a cut: the frames between were not all looked at."}
	}
	return nil
}

func remedyJump(_ judgedClip, f Finding) (Mend, string, bool) {
	return Post, "Eyes follow a jump in depth slowly: ease it with a shift that changes along the shot.", f.Unit == record.ParallaxUnit
}
