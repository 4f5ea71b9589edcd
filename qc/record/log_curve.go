package record

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
