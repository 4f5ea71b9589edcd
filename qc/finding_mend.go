package qc

import (
	"fmt"
	"math"
	"slices"
)

// dearestCrop is the part of a picture's width and height, in percent, that may
// be lost to a correction before it is better to shoot again: the project's own
// choice.
const dearestCrop = 10

// geometry lists what a correction of the right eye's geometry mends.
var geometry = []string{"vertical_offset", "roll", "zoom", "keystone", "tilt_keystone", "vertical_worst"}

// mend says who can put a finding right, and how, in a sentence.
func (j *judging) mend(f Finding) (Mend, string) {
	p := phrases[f.Limit.Metric]
	switch name := f.Limit.Metric; {
	case f.Limit.Statistic == Drift:
		return Rig, "Something on the rig gives way within the shot: check its fastenings. A correction has to change along the shot."
	case name == "near_parallax" || name == "far_parallax":
		return j.mendParallax(f.Status)
	case slices.Contains(geometry, name):
		if crop := Correct(j.record, nil).Crop; crop > dearestCrop {
			return Reshoot, fmt.Sprintf("Correcting it would cost %s %% of the picture's width and height.", digits(crop))
		}
	case name == "sync_offset" && math.Abs(f.Value-math.Round(f.Value)) <= sure*f.SE:
		return Post, "Slip the right eye in post."
	}
	return p.mend, p.advice
}

// mendParallax says whether a sideways shift brings both ends of the depth
// within limits.
func (j *judging) mendParallax(status Status) (Mend, string) {
	for _, l := range j.limits {
		if l.Metric == "near_parallax" || l.Metric == "far_parallax" {
			if _, missing := j.record.series(l.Metric); missing != "" {
				return NoMend, "Whether a sideways shift would help is open, since the " + words(l.Metric) + " could not be measured."
			}
		}
	}
	shift, within := parallaxShift(j.record, j.limits)
	if within == "" || within == Fail && status == Warned {
		const none = "No sideways shift brings both the nearest and the farthest things within limits; have the stereographer decide."
		if status == Failed {
			return Reshoot, none
		}
		return NoMend, none
	}
	if shift == 0 {
		return Post, "Shift the right eye's picture sideways in post if the stereographer asks for more distance to the limit."
	}
	to, limits := "right", "limits"
	if shift < 0 {
		to = "left"
	}
	if within == Fail {
		limits = "the limits to fail, though not those to warn"
	}
	return Post, fmt.Sprintf("Shifting the right eye's picture by %s %% of its width to the %s brings both ends within %s.", digits(math.Abs(shift)), to, limits)
}
