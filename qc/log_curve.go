package qc

import (
	"slices"

	"nightpair/metrics/picture"
)

// LogCurve reports whether the clip's pictures are coded by a camera's log curve, whose
// shape the files do not tell: its code values are then compared as they are, and not
// the light that they stand for.
func (r Record) LogCurve() bool {
	return slices.ContainsFunc(r.Moments, func(m Moment) bool {
		return m.Swatches != nil && m.Swatches.Transfer == picture.LogCurve
	})
}

// ofLight are the metrics whose figures are of light where the curve is known.
var ofLight = append([]string{"noise", "softness", "softness_near", "softness_far"}, lightNames...)

// logWords says of a metric of light that it is one of code values; empty where it is
// not.
func (r Record) logWords(metric string) string {
	if !slices.Contains(ofLight, metric) || !r.LogCurve() {
		return ""
	}
	return "It was measured on the code values of a log curve, not in light."
}
