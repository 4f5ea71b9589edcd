package qc

import (
	"math"
	"slices"
)

// Narrow-range values shown as if they were full range: black at 16/255 and white
// at 235/255, which is a gain of 219/255 of the signal and a lift of 16/255 (Rec.
// ITU-R BT.709-6, item 4.6).
const (
	rangeExposure = -0.527 // stops: 2.4·log2(219/255), by the curve of BT.1886
	rangeLift     = 6.27   // % of full scale
	// How far the figures of such a clip may be off: chroma is stretched by 224
	// and not by 219, and what falls below black is cut off. The project's own
	// choice.
	rangeExposureNear = 0.08
	rangeLiftNear     = 0.5
	rangeBalanceNear  = 0.08
)

// lightNames are the metrics of the one difference of light between the eyes.
var lightNames = []string{"exposure", "red_balance", "blue_balance", "black_lift", "colour_difference"}

// rangeSlip reports whether a clip looks as if one eye's file were read in the wrong
// range: 1 when the right eye shows narrow values as full, or the left full ones as
// narrow, −1 the other way round, 0 when it does not.
func (r Record) rangeSlip() int {
	exposure, lift := Median.Of(r, "exposure"), Median.Of(r, "black_lift")
	if !exposure.OK() || !lift.OK() {
		return 0
	}
	for _, name := range []string{"red_balance", "blue_balance"} {
		if m := Median.Of(r, name); m.OK() && math.Abs(m.Value) > rangeBalanceNear+sure*m.SE {
			return 0
		}
	}
	for _, sign := range []float64{1, -1} {
		if math.Abs(exposure.Value-sign*rangeExposure) < rangeExposureNear+sure*exposure.SE &&
			math.Abs(lift.Value-sign*rangeLift) < rangeLiftNear+sure*lift.SE {
			return int(sign)
		}
	}
	return 0
}

// blurMakes is what a blur of one pixel makes of the figures of light at most: it
// spreads bright detail over dark, so that the softer eye's blacks come out lifted
// and its light weaker. On drawn scenes of much texture it was 0.53 %, 0.047 stops
// and 0.03 stops.
var blurMakes = map[string]float64{"black_lift": 0.6, "exposure": -0.06, "red_balance": 0.035, "blue_balance": 0.035}

// foldLight drops findings about light that say no more than others do, and names
// a range that was read wrongly for what it is.
func (j *judging) foldLight() {
	of := func(names ...string) func(Finding) bool {
		return func(f Finding) bool { return slices.Contains(names, f.Limit.Metric) && f.Limit.Statistic != Drift }
	}
	find := func(name string) *Finding {
		if i := slices.IndexFunc(j.findings, of(name)); i >= 0 {
			return &j.findings[i]
		}
		return nil
	}

	if sign := j.record.rangeSlip(); sign != 0 {
		lift := find("black_lift")
		if lift != nil {
			named := *lift
			named.Mend = Post
			named.Detail = rangeWords(sign)
			for _, f := range j.findings {
				if of(lightNames...)(f) && f.Status.rank() < named.Status.rank() {
					named.Status = f.Status
				}
			}
			j.findings = append(slices.DeleteFunc(j.findings, of(lightNames...)), named)
		}
	}
	// A difference of colour is the sum of the others.
	if slices.ContainsFunc(j.findings, of(lightNames[:4]...)) {
		j.findings = slices.DeleteFunc(j.findings, of("colour_difference"))
	}

	// The lines of two fields have each their own light and sharpness.
	if find("combing") != nil {
		j.findings = slices.DeleteFunc(j.findings, of(append([]string{"softness", "softness_near", "softness_far", "noise", "rivalry"}, lightNames...)...))
	}

	if soft := find("softness"); soft != nil {
		value := soft.Value
		j.findings = slices.DeleteFunc(j.findings, func(f Finding) bool {
			most, known := blurMakes[f.Limit.Metric]
			return known && f.Limit.Statistic != Drift && math.Abs(f.Value) <= math.Abs(most*value)+sure*f.SE && f.Value*most*value >= 0
		})
	}

	near, far := Median.Of(j.record, "softness_near"), Median.Of(j.record, "softness_far")
	if soft := find("softness"); soft != nil {
		value := soft.Value
		// One lens is soft at all depths alike.
		alike := !near.OK() || !far.OK() || near.Value*value > 0 && far.Value*value > 0 &&
			min(math.Abs(near.Value), math.Abs(far.Value)) > max(math.Abs(near.Value), math.Abs(far.Value))/2
		if alike {
			j.findings = slices.DeleteFunc(j.findings, of("softness_near", "softness_far"))
		} else if find("softness_near") != nil || find("softness_far") != nil {
			j.findings = slices.DeleteFunc(j.findings, of("softness"))
		}
		// What blurs a picture after it was taken blurs its noise.
		j.findings = slices.DeleteFunc(j.findings, func(f Finding) bool { return f.Limit.Metric == "noise" && f.Value*value < 0 })
	}

	if blank := find("blank"); blank != nil && math.Abs(blank.Value) >= mostlyBlank {
		// What is not there could not be measured.
		j.missing = nil
		if find("black_frames") != nil {
			j.findings = slices.DeleteFunc(j.findings, of("blank"))
		}
	}
}

// mostlyBlank is the part of the picture, in %, whose lack explains that nothing
// else could be measured.
const mostlyBlank = 50

func rangeWords(sign int) string {
	narrow, full := "right", "left"
	if sign < 0 {
		narrow, full = full, narrow
	}
	return "The range flag of one eye's file is wrong: the figures are those of narrow-range values shown as full range in the " +
		narrow + " eye, or of full-range values shown as narrow range in the " + full +
		" eye, and not those of a difference of colour. Correct the flag, not the picture."
}
