package judge

import (
	"math"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// change returns by how much an end of the depth changes from one frame to
// another; false where that is not known.
func change(metric string, from, to *record.Depths) (stat.Measurement, bool) {
	a, ok := from.Of(metric)
	b, also := to.Of(metric)
	if !ok || !also {
		return stat.Measurement{}, false
	}
	return stat.Measured(b.Value-a.Value, math.Hypot(a.SE, b.SE)), true
}

// cutJump returns the largest change of an end of the depth across a cut within
// the clip, with its sign, and that cut.
func cutJump(r record.Record, metric string) (stat.Measurement, record.Cut) {
	var worst stat.Measurement
	var at record.Cut
	found := false
	for _, c := range r.Header.Sync.Cuts {
		m, ok := change(metric, c.Before, c.After)
		if ok && (!found || math.Abs(m.Value) > math.Abs(worst.Value)) {
			worst, at, found = m, c, true
		}
	}
	switch {
	case found:
		return worst, at
	case len(r.Header.Sync.Cuts) > 0:
		return stat.Missing("the depth beside the cuts cannot be told"), record.Cut{}
	}
	return stat.Missing("the clip is not cut"), record.Cut{}
}
