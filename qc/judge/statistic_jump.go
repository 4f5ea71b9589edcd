package judge

import (
	"fmt"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/series"
)

func jumpValue(r record.Record, l Limit) stat.Measurement {
	return ofSeries(func(s series.Moments) stat.Measurement {
		change, _, _ := series.Jump(r, s)
		return change
	})(r, l)
}

func placeOfJump(r record.Record, l Limit) Place {
	s, missing := series.OfMoments(r, l.Metric)
	if missing != "" {
		return nowhere
	}
	change, from, to := series.Jump(r, s)
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
