package judge

import (
	"fmt"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/number"
	"nightpair/qc/record"
	"nightpair/qc/series"
)

// ideal returns what a perfect pair gives of a metric.
func ideal(metric string) float64 {
	m, _ := metrics.Lookup(metric)
	return m.Ideal
}

func stretchValue(r record.Record, metric string) stat.Measurement {
	e, missing := series.OfFrames(r, metric)
	if missing != "" {
		return stat.Missing(missing)
	}
	value, _ := e.Worst(ideal(metric))
	return value
}

// placeOfStretch returns from which frame to which a metric is out of bounds around its worst
// stretch.
func placeOfStretch(r record.Record, l Limit) Place {
	e, missing := series.OfFrames(r, l.Metric)
	if missing != "" {
		return nowhere
	}
	value, middle := e.Worst(ideal(l.Metric))
	if !value.OK() {
		return nowhere
	}
	from, to, worst := e.Beyond(middle, l.excess)
	return framePlace(r, from, to, worst)
}

// sayStretch says for how long a metric is out of bounds.
func sayStretch(c judgedClip, f Finding) string {
	text := phrases[f.Limit.Metric].wrong(c, f)
	if rate := c.record.Header.Left.Rate(); rate > 0 && f.FrameTo >= f.FrameFrom {
		text += fmt.Sprintf(" for %s s", number.Digits(float64(f.FrameTo-f.FrameFrom+1)/rate))
	}
	return text
}

func changeValue(r record.Record, metric string) stat.Measurement {
	e, missing := series.OfFrames(r, metric)
	if missing != "" {
		return stat.Missing(missing)
	}
	value, _, _ := e.Change()
	return value
}

// placeOfChange returns between which frames most of the change happens.
func placeOfChange(r record.Record, l Limit) Place {
	e, missing := series.OfFrames(r, l.Metric)
	if missing != "" {
		return nowhere
	}
	value, last, first := e.Change()
	if !value.OK() {
		return nowhere
	}
	return framePlace(r, last, first, first)
}

func sayChange(_ judgedClip, f Finding) string {
	return fmt.Sprintf("%s changes by %s within the shot", Label(f.Limit.Metric), f.signedAmount(f.Value))
}

// remedyChange tells a rig that moves from a camera whose light changes.
func remedyChange(c judgedClip, f Finding) (Mend, string, bool) {
	if f.Limit.Metric == metrics.Exposure {
		return Post, "Match it along the shot with keyframes, and check that both irises and shutters are locked or linked.", true
	}
	return remedyDrift(c, f)
}
