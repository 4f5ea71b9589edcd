package judge

import (
	"fmt"
	"math"

	"nightpair/qc/number"
	"nightpair/qc/record"
)

// maxCrop is the part of a picture's width and height, in percent, that may
// be lost to a correction before it is better to shoot again: the project's own
// choice.
const maxCrop = 10

// mendGeometry leaves it to a correction, unless that would cost too much.
func mendGeometry(c judgedClip, _ Finding) (Mend, string, bool) {
	crop := correctGeometry(c.record, nil).Crop
	return Reshoot, fmt.Sprintf("Correcting it would crop %s %% of the picture's width and height: shoot it again.", number.Digits(crop)), crop > maxCrop
}

// mendHeight leaves what is only just seen to the crew, before the next shot.
func mendHeight(_ judgedClip, f Finding) (Mend, string, bool) {
	return Rig, "Level the cameras before the next shot.", f.Status == Warned
}

// mendSync slips what is late by whole frames.
func mendSync(_ judgedClip, f Finding) (Mend, string, bool) {
	whole := math.Abs(f.Value-math.Round(f.Value)) <= record.Sure*f.SE
	if f.Value < 0 {
		return Post, "Slip the right eye later in post.", whole
	}
	return Post, "Slip the right eye earlier in post.", whole
}

// mendTravel says what a finding about lens_travel points to.
func mendTravel(_ judgedClip, f Finding) (Mend, string, bool) {
	const rests, calibrate = -100, "calibrate the focus motors of both lenses."
	switch {
	case f.Value < rests-f.SE:
		return Reshoot, "It seems to go the other way: check the direction of its motor, and " + calibrate, true
	case f.Value < rests+f.SE:
		return Reshoot, "It seems to rest: check that its motor is on and linked, and " + calibrate, true
	}
	return Reshoot, "Check the speed and range of its motor, and " + calibrate, true
}
