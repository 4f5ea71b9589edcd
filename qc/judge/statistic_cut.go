package judge

import (
	"fmt"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// depthEnds are the metrics of which it is known how they change across a cut.
func depthEnds() []string { return []string{metrics.NearParallax, metrics.FarParallax} }

func acrossValue(r record.Record, l Limit) stat.Measurement {
	change, _ := cutJump(r, l.Metric)
	return change
}

func placeOfCut(r record.Record, l Limit) Place {
	_, at := cutJump(r, l.Metric)
	return framePlace(r, at.Frame-1, at.Frame, at.Frame)
}

func sayAcross(_ judgedClip, f Finding) string {
	return fmt.Sprintf("%s jumps by %s across the cut to frame %d", Label(f.Limit.Metric), f.signedAmount(f.Value), f.Worst)
}

// acrossNotes tells how many cuts are as bad.
func acrossNotes(clip judgedClip, f Finding) []string {
	beyond, told := 0, 0
	for _, c := range clip.record.Header.Sync.Cuts {
		if m, ok := change(f.Limit.Metric, c.Before, c.After); ok {
			told++
			if f.Limit.excess(m.Value) > record.Sure*m.SE {
				beyond++
			}
		}
	}
	if beyond <= 1 {
		return nil
	}
	return []string{fmt.Sprintf("%d of %d cuts are beyond the limit.", beyond, told)}
}

func remedyAcross(judgedClip, Finding) (Mend, string, bool) {
	return Post, "Ease it by a shift on either side of the cut, or keep such shots apart.", true
}
