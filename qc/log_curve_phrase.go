package qc

import "slices"

// ofLight are the metrics whose figures are of light where the curve is known.
var ofLight = append([]string{"noise", "softness", "softness_near", "softness_far"}, lightNames...)

// logPhrase says of a metric of light that it is one of code values; empty where it is
// not.
func logPhrase(r Record, metric string) string {
	if !slices.Contains(ofLight, metric) || !r.LogCurve() {
		return ""
	}
	return "It was measured on the code values of a log curve, not in light."
}
