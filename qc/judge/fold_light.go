package judge

import (
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/qc/record"
)

// Narrow-range values shown as if they were full range: black at 16/255 and white
// at 235/255, which is a gain of 219/255 of the signal and a lift of 16/255 (Rec.
// ITU-R BT.709-6, item 4.6).
const (
	rangeExposure = -0.527 // stops: 2.4·log2(219/255), by the curve of BT.1886
	rangeLift     = 6.27   // % of full scale
	// How far the figures of such a clip may be off: chroma is stretched by 224
	// and not by 219, and what falls below black is clipped. The project's own
	// choice.
	rangeExposureNear = 0.08
	rangeLiftNear     = 0.5
	rangeBalanceNear  = 0.08
)

// lightNames are the metrics of the one difference of light between the eyes.
var lightNames = []string{metrics.Exposure, metrics.RedBalance, metrics.BlueBalance, metrics.BlackLift, metrics.ColourDifference}

// rangeSlip reports whether a clip looks as if one eye's file were read in the wrong
// range: 1 when the right eye shows narrow values as full, or the left full ones as
// narrow, −1 the other way round, 0 when it does not.
func rangeSlip(r record.Record) int {
	exposure, lift := Median.Of(r, metrics.Exposure), Median.Of(r, metrics.BlackLift)
	if !exposure.OK() || !lift.OK() {
		return 0
	}
	for _, name := range []string{metrics.RedBalance, metrics.BlueBalance} {
		if m := Median.Of(r, name); m.OK() && math.Abs(m.Value) > rangeBalanceNear+record.Sure*m.SE {
			return 0
		}
	}
	for _, sign := range []float64{1, -1} {
		if math.Abs(exposure.Value-sign*rangeExposure) < rangeExposureNear+record.Sure*exposure.SE &&
			math.Abs(lift.Value-sign*rangeLift) < rangeLiftNear+record.Sure*lift.SE {
			return int(sign)
		}
	}
	return 0
}

// blurMakes is what a blur of one pixel makes of the figures of light at the utmost: it
// spreads bright detail over dark, so that the softer eye's blacks come out lifted
// and its light weaker. On drawn scenes of much texture it was 0.53 %, 0.047 stops
// and 0.03 stops.
var blurMakes = map[string]float64{metrics.BlackLift: 0.6, metrics.Exposure: -0.06, metrics.RedBalance: 0.035, metrics.BlueBalance: 0.035}

// foldRange names a range that was read wrongly for what it is.
func foldRange(r record.Record, all found) found {
	sign := rangeSlip(r)
	lift, lifted := firstAbout(all.exceeded, metrics.BlackLift)
	if sign == 0 || !lifted {
		return all
	}
	lift.cause = rightNarrow
	if sign < 0 {
		lift.cause = leftNarrow
	}
	for _, f := range all.exceeded {
		if about(lightNames...)(f) && f.Status.Compare(lift.Status) < 0 {
			lift.Status = f.Status
		}
	}
	all.exceeded = append(without(all.exceeded, about(lightNames...)), lift)
	return all
}

func foldColour(_ record.Record, all found) found {
	if slices.ContainsFunc(all.exceeded, about(metrics.Exposure, metrics.RedBalance, metrics.BlueBalance, metrics.BlackLift)) {
		all.exceeded = without(all.exceeded, about(metrics.ColourDifference))
	}
	return all
}

func foldCombing(_ record.Record, all found) found {
	if _, combed := firstAbout(all.exceeded, metrics.Combing); combed {
		all.exceeded = without(all.exceeded, about(append([]string{
			metrics.Softness, metrics.SoftnessNear, metrics.SoftnessFar, metrics.Noise, metrics.Rivalry}, lightNames...)...))
	}
	return all
}

func foldBlurredLight(_ record.Record, all found) found {
	if soft, ok := firstAbout(all.exceeded, metrics.Softness); ok {
		all.exceeded = without(all.exceeded, func(f Finding) bool {
			perPixel, known := blurMakes[f.Limit.Metric]
			return known && f.Limit.Statistic != Drift && math.Abs(f.Value) <= math.Abs(perPixel*soft.Value)+record.Sure*f.SE && f.Value*perPixel*soft.Value >= 0
		})
	}
	return all
}

func foldSoftness(r record.Record, all found) found {
	soft, ok := firstAbout(all.exceeded, metrics.Softness)
	if !ok {
		return all
	}
	near, far := Median.Of(r, metrics.SoftnessNear), Median.Of(r, metrics.SoftnessFar)
	// A lens that is soft is so at all depths.
	everywhere := !near.OK() || !far.OK() || near.Value*soft.Value > 0 && far.Value*soft.Value > 0 &&
		min(math.Abs(near.Value), math.Abs(far.Value)) > max(math.Abs(near.Value), math.Abs(far.Value))/2
	depths := about(metrics.SoftnessNear, metrics.SoftnessFar)
	switch {
	case everywhere:
		all.exceeded = without(all.exceeded, depths)
	case slices.ContainsFunc(all.exceeded, depths):
		// How soft it is as a whole stays for what is folded into that.
		all.exceeded = without(foldNoiseOf(all.exceeded, soft), about(metrics.Softness))
	}
	return all
}

func foldBlurredNoise(_ record.Record, all found) found {
	if soft, ok := firstAbout(all.exceeded, metrics.Softness); ok {
		all.exceeded = foldNoiseOf(all.exceeded, soft)
	}
	return all
}

// foldNoiseOf drops that the softer eye has less noise: what blurs a picture after it was
// taken blurs its noise.
func foldNoiseOf(findings []Finding, soft Finding) []Finding {
	return without(findings, func(f Finding) bool { return f.Limit.Metric == metrics.Noise && f.Value*soft.Value < 0 })
}

// maxPictureLoss is the part of the picture, in %, whose lack explains that nothing
// else could be measured.
const maxPictureLoss = 50

func foldBlank(_ record.Record, all found) found {
	blank, ok := firstAbout(all.exceeded, metrics.Blank)
	if !ok || math.Abs(blank.Value) < maxPictureLoss {
		return all
	}
	all.missing = nil
	if _, black := firstAbout(all.exceeded, BlackFrames); black {
		all.exceeded = without(all.exceeded, about(metrics.Blank))
	}
	return all
}
