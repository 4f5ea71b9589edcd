package judge

import (
	"fmt"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/series"
)

func driftValue(r record.Record, l Limit) stat.Measurement {
	return ofSeries(func(s series.Moments) stat.Measurement { return s.Drift(r).Change })(r, l)
}

// driftCounts reports whether a metric's change over the clip is more than chance. What
// differs from shot to shot of a cut file is no drift.
func driftCounts(r record.Record, metric string) bool {
	s, missing := series.OfMoments(r, metric)
	return len(r.Header.Sync.Cuts) == 0 && missing == "" && s.Drift(r).Significant
}

func placeOfDrift(r record.Record, _ Limit) Place {
	return placeOf(r.Moments[0], r.Moments[len(r.Moments)-1], nowhere.Worst)
}

func sayDrift(_ judgedClip, f Finding) string {
	return fmt.Sprintf("%s drifts by %s during the clip", Label(f.Limit.Metric), f.signedAmount(f.Value))
}

func remedyDrift(judgedClip, Finding) (Mend, string, bool) {
	return Rig, "Something on the rig is loose or slipping: check its fastenings; correct the shot with keyframes.", true
}
