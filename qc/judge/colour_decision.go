package judge

import (
	"nightpair/metrics/light"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// ColourDecision is what brings the right eye's light to the left one's, with the
// figures of what both eyes show of the same places, measured again after applying
// it.
type ColourDecision struct {
	Grade light.Grade
	// Missing says why there is none; empty when there is.
	Missing string
	// Before and After are the median colour differences, ΔE00.
	Before, After stat.Measurement
	// Exposure is by how many stops the right eye is still brighter afterwards.
	Exposure stat.Measurement
}

// decisionGain is the smallest ΔE00 that a colour decision has to take off: less cannot
// be seen. The project's own choice.
const decisionGain = 0.3

// colourDecision fits a colour decision to all moments of a clip together.
func colourDecision(r record.Record) ColourDecision {
	var all light.Swatches
	for _, m := range r.Moments {
		if m.Swatches != nil {
			all = all.With(*m.Swatches)
		}
	}
	var d ColourDecision
	d.Grade, d.Missing = light.FitGrade(all)
	if d.Missing != "" {
		return d
	}
	d.Before, d.After = all.Difference(light.NoGrade()), all.Difference(d.Grade)
	d.Exposure = all.Exposure(d.Grade)
	if d.After.Value > d.Before.Value-decisionGain {
		d.Grade, d.Missing = light.NoGrade(), "no colour decision matches the eyes any better"
	}
	return d
}
