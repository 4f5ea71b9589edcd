package timing

import (
	"cmp"
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// Slip is by how many frames the right eye's file shows the same instants later
// than the left one's, as the pictures' changes tell it.
type Slip struct {
	stat.Measurement
	// Clear is how much better the pictures go together so than at the next best
	// slip that is not a neighbour, 0 to 1.
	Clear float64
	// Rough is where it is, when that is known but not to the frame.
	Rough stat.Measurement
}

const (
	// slipOverlap is the least number of changes that two pieces must share to be
	// compared: most of a second.
	slipOverlap = 20
	// slipParts is in how many parts of the time the slip must show alike.
	slipParts = 8
	// slipSteady is how large the change of a signature over time must be, as a
	// share of the change itself: texture that enters and leaves a picture that
	// moves steadily makes some hundredths, and comes later to one eye than to the
	// other for another reason than time. The project's own choice.
	slipSteady = 0.1
	// faintLight is a change of the mean brightness, in code values, that a picture
	// well makes by what enters and leaves it.
	faintLight = 1
	slipClear  = 0.15 // the least Clear of a slip that is believed
	slipValley = 0.1  // what parts one hill of the curve from another
	slipAlike  = 0.3  // the least mean squared correlation
	// slipBias is the standard error, as a share of the time in which motion changes,
	// that the eyes look from two places: motion may seem to come sooner to one. A
	// drive through a corridor, the worst of the drawn scenes, is off by a twentieth;
	// the share is set so that it and the like are told roughly at most.
	slipBias = 0.0125
	slipRest = 0.25 // the share of what tells that a part of it must hold to be asked
	// A slip is certain to the frame when its standard error is less than slipSE
	// frames, and it does not lie between two.
	slipSE = 0.2
)

// slipStrides are over how many frames changes are taken, until two of them agree:
// what moves fast shows from frame to frame, what moves slowly only over several,
// as noise is then the same and motion more.
var slipStrides = []int{1, 2, 4, 8, 16}

// slipPace is how far, in cells, a picture as a whole may move over a stride: what
// moves on further is taken for something else, as texture that enters the picture,
// which comes sooner to one eye.
const slipPace = 1.5

// slipAgree is by how many frames two strides may differ.
const slipAgree = 0.5

// FindSlip compares the eyes' signatures at all slips up to reach frames either
// way. Signatures are of consecutive frames, left[i] and right[i] of the same
// number; nil where a frame is missing. A slip takes one stride of time that is
// certain of it and another that agrees, unless all moves too fast for another.
func FindSlip(left, right []*picture.Signature, reach int) Slip {
	var sure, rough Slip
	reason := ""
	pace := max(changes(left, 1).pace(), changes(right, 1).pace())
	tried := 0
	for _, stride := range slipStrides {
		if tried > 0 && pace*float64(stride) > slipPace {
			break
		}
		tried++
		found := newSlipSearch(changes(left, stride), changes(right, stride), reach).slip(true)
		place := found.Measurement
		if !found.OK() {
			place = found.Rough
			if reason == "" {
				reason = found.Missing
			}
		}
		switch {
		case !place.OK():
			continue
		case sure.OK() && math.Abs(place.Value-sure.Value) > slipAgree:
			return Slip{Measurement: stat.Missing("not observable: fast and slow motion disagree"), Clear: found.Clear}
		case sure.OK():
			return sure
		case found.OK() && rough.Rough.OK() && math.Abs(rough.Rough.Value-place.Value) <= slipAgree:
			return found
		case found.OK():
			sure = found
		case !rough.Rough.OK() || place.SE < rough.Rough.SE:
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
