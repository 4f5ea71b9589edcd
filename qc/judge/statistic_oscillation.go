package judge

import (
	"fmt"
	"math"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/series"
)

func oscillationValue(r record.Record, l Limit) stat.Measurement {
	t, missing := series.OfFrames(r, l.Metric)
	if missing != "" {
		return stat.Missing(missing)
	}
	value, _ := t.Oscillation(l.Seconds)
	return value
}

// placeOfOscillation returns the stretches in which it is worst.
func placeOfOscillation(r record.Record, l Limit) Place {
	t, missing := series.OfFrames(r, l.Metric)
	if missing != "" {
		return nowhere
	}
	value, middle := t.Oscillation(l.Seconds)
	if !value.OK() {
		return nowhere
	}
	first, end := t.Range()
	reach := int(math.Ceil(1.5 * l.Seconds * r.Header.Left.Rate()))
	return framePlace(r, max(first+middle-reach, first), min(first+middle+reach, end)-1, first+middle)
}

func sayOscillation(_ judgedClip, f Finding) string {
	return fmt.Sprintf("%s goes to and fro by ±%s", Label(f.Limit.Metric), f.amount(f.Value))
}

// remedyOscillation tells a part that shakes from light that flickers.
func remedyOscillation(_ judgedClip, f Finding) (Mend, string, bool) {
	if f.Limit.Metric == metrics.Exposure {
		return Post, "Deflicker it in post; check genlock, and the shutters against the frequency of the lamps.", true
	}
	return Rig, "Something on the rig is loose, or the cameras are not genlocked: check both; stabilise the shot against the other eye.", true
}
