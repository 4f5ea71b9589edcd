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

// geometryNames lists what a correction of the right eye's geometry mends.
var geometryNames = []string{"vertical_offset", "roll", "zoom", "keystone", "tilt_keystone", "vertical_worst"}

// mend says who can put a finding right, and how, in a sentence.
func (j *judging) mend(f Finding) (Mend, string) {
	p := phrases[f.Limit.Metric]
	switch name := f.Limit.Metric; {
	case f.Limit.Statistic == Drift:
		return Rig, "Something on the rig gives way within the shot: check its fastenings. A correction has to change along the shot."
	case f.Limit.Statistic == Jump && f.Unit == parallaxUnit:
		return Post, "Eyes follow a jump in depth slowly: ease it by a shift that changes along the shot."
	case f.Limit.Statistic == Across:
		return Post, "Eyes follow a jump in depth slowly: ease it by a shift on either side of the cut, or keep such shots apart."
	case name == "near_parallax" || name == "far_parallax":
		return j.mendParallax(f)
	case name == "edge_violation":
		return j.mendEdges(f)
	case slices.Contains(geometryNames, name):
		if crop := correctGeometry(j.record, nil).Crop; crop > dearestCrop {
			return Reshoot, fmt.Sprintf("Correcting it would cost %s %% of the picture's width and height.", digits(crop))
		}
	case name == "lens_travel":
		return Reshoot, travelAdvice(f)
	case name == "sync_offset" && math.Abs(f.Value-math.Round(f.Value)) <= sure*f.SE:
		if f.Value < 0 {
			return Post, "Slip the right eye in post, so that it plays later."
		}
		return Post, "Slip the right eye in post, so that it plays earlier."
	}
	return p.mend, p.advice
}
