package qc

import (
	"slices"

	"nightpair/metrics"
)

// LogCurve reports whether the clip's pictures are coded by a camera's log curve, whose
// shape the files do not tell: its code values are then compared as they are, and not
// the light that they stand for.
func (r Record) LogCurve() bool {
	return slices.ContainsFunc(r.Moments, func(m Moment) bool {
		return m.Swatches != nil && m.Swatches.Transfer == metrics.LogCurve
	})
}

// notesOnLight says of a metric of light that it is one of code values, where it is
// not one of light.
func notesOnLight(c judgedClip, _ Finding) []string {
	if !c.record.LogCurve() {
		return nil
	}
	return []string{"It was measured on the code values of a log curve, not in light."}
}
