package judge

import (
	"fmt"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/number"
	"nightpair/qc/record"
	"nightpair/qc/series"
)

// stretchSeconds is how long a stretch is at least where a limit does not say so. The project's
// own choice: what is over sooner an audience hardly feels.
const stretchSeconds = 0.5

// changing lists the metrics whose changes within a shot are judged, and that a correction over
// time undoes.
func changing() []string {
	return []string{metrics.VerticalOffset, metrics.Roll, metrics.Zoom, metrics.Exposure}
}

// worstStretch returns the track and the reading of a metric that leaves a limit most surely.
func worstStretch(r record.Record, l Limit) (t series.Track, value stat.Measurement, middle int) {
	tracks, missing := series.Tracks(r, l.Metric)
	value = stat.Missing(missing)
	sure := func(m stat.Measurement) float64 { return l.excess(m.Value) - record.Sure*m.SE }
	for _, track := range tracks {
		if m, at := track.Worst(l.Seconds, l.excess); !value.OK() || m.OK() && sure(m) > sure(value) {
			t, value, middle = track, m, at
		}
	}
	return t, value, middle
}

func stretchValue(r record.Record, l Limit) stat.Measurement {
	_, value, _ := worstStretch(r, l)
	return value
}

// placeOfStretch returns from which frame to which a metric is out of bounds around its worst
// stretch.
func placeOfStretch(r record.Record, l Limit) Place {
	t, value, middle := worstStretch(r, l)
	if !value.OK() {
		return nowhere
	}
	from, to, worst := t.Beyond(middle, l.excess)
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

func changeValue(r record.Record, l Limit) stat.Measurement {
	t, missing := series.OfFrames(r, l.Metric)
	if missing != "" {
		return stat.Missing(missing)
	}
	value, _, _ := t.Change(l.Seconds)
	return value
}

// placeOfChange returns between which frames most of the change happens.
func placeOfChange(r record.Record, l Limit) Place {
	t, missing := series.OfFrames(r, l.Metric)
	if missing != "" {
		return nowhere
	}
	value, last, first := t.Change(l.Seconds)
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
