package timing

import (
	"cmp"
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// Slip is by how many whole frames the right eye's file shows the same instants later than
// the left eye's. The measurement's value is not rounded.
type Slip struct {
	stat.Measurement
	// Clear is how much better the pictures agree at this slip than at the best one beyond a
	// valley of the curve, 0 to 1.
	Clear float64
	// Rough is the slip where it is known, but not to the frame; the measurement is missing
	// then.
	Rough stat.Measurement
}

const (
	// minOverlap is the least number of changes that two series must share to be compared:
	// most of a second.
	minOverlap = 20
	// slipParts is the number of parts of the time that must agree on a slip.
	slipParts = 8
	// minVariation is how much a component of a change must vary over time, as a share of
	// its size: texture that enters and leaves a steadily moving picture varies by some
	// hundredths, and shows in one eye sooner because of parallax. The project's own choice.
	minVariation = 0.1
	// brightnessFloor is a change of the mean brightness, in code values, that enters and
	// leaves with what is seen.
	brightnessFloor = 1
	minClear        = 0.15 // the least Slip.Clear
	minValley       = 0.1  // the depth, as a share of the height, of a valley between two hills of the curve
	minCorrelation  = 0.3  // the least mean squared correlation
	// slipBias is the standard error that the eyes' different points of view cause, as a
	// share of the time over which the motion changes: motion may seem to come sooner to one
	// eye. In a drive through a corridor, the worst of the drawn scenes, that is a twentieth;
	// the share is set so that such clips give a rough slip at most.
	slipBias = 0.0125
	// minEvidence is the share of the curve's height that some of the components must reach
	// by themselves to be asked whether they agree.
	minEvidence = 0.25
	// maxSlipSE is the standard error in frames below which a slip is certain to the frame,
	// if it does not lie between two frames.
	maxSlipSE = 0.2
)

// slipStrides are the numbers of frames over which changes are taken, in turn until two
// agree: slow motion shows over several frames, where it is larger and the noise is the
// same.
var slipStrides = []int{1, 2, 4, 8, 16}

// maxStrideMotion is how far, in cells, the picture may move over a stride. If it moves
// farther, what enters and leaves the picture outweighs the motion, and that comes sooner
// to one eye.
const maxStrideMotion = 1.5

// maxStrideDifference is the largest difference of two strides' slips in frames.
const maxStrideDifference = 0.5

// FindSlip compares the eyes' signatures at all slips of up to reach frames either way.
// Signatures are of consecutive frames, left[i] and right[i] of the same number; nil where
// a frame is missing. A slip takes one stride that is certain and another that agrees,
// unless the picture moves too fast for a second one.
func FindSlip(left, right []*picture.Signature, reach int) Slip {
	var sure, rough Slip
	reason := ""
	speed := max(changes(left, 1).speed(), changes(right, 1).speed())
	tried := 0
	for _, stride := range slipStrides {
		if tried > 0 && speed*float64(stride) > maxStrideMotion {
			break
		}
		tried++
		found := newSlipSearch(changes(left, stride), changes(right, stride), reach).slip(true)
		slip := found.Measurement
		if !found.OK() {
			slip = found.Rough
			if reason == "" {
				reason = found.Missing
			}
		}
		switch {
		case !slip.OK():
			continue
		case sure.OK() && math.Abs(slip.Value-sure.Value) > maxStrideDifference:
			return Slip{Measurement: stat.Missing("not observable: fast and slow motion disagree"), Clear: found.Clear}
		case sure.OK():
			return sure
		case found.OK() && rough.Rough.OK() && math.Abs(rough.Rough.Value-slip.Value) <= maxStrideDifference:
			return found
		case found.OK():
			sure = found
		case !rough.Rough.OK() || slip.SE < rough.Rough.SE:
			rough = found
		}
	}
	if sure.OK() && tried == 1 {
		return sure
	}
	if sure.OK() {
		return Slip{Measurement: stat.Missing("not observable: the offset is not certain to the frame"), Clear: sure.Clear, Rough: sure.Measurement}
	}
	rough.Missing = cmp.Or(rough.Missing, reason)
	return rough
}
