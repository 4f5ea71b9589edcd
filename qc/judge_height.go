package qc

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// atEdge is how much vertical disparity a figure of so much makes where it makes most,
// in % of the picture height: a picture 1 % larger shows what is at its top half a per
// cent higher.
var atEdge = map[string]float64{"vertical_offset": 1, "zoom": 0.5}

// foldHeight drops that the vertical offset or the zoom could not be judged, or not be told
// from its limit, where what is seen lies at one height in both eyes all the same. The
// offset is that of things at zero parallax: a scene that shows none of them, and is all at
// one distance, as far hills are, does not tell an offset from cameras of unequal height,
// though the two together leave nothing to be seen. Nor does open ground tell a larger
// picture from a camera that stands farther forward.
func (j *judging) foldHeight() {
	worst := Median.Of(j.record, "vertical_worst")
	if !worst.OK() {
		return
	}
	level := func(l Limit) bool {
		edge, ok := atEdge[l.Metric]
		return ok && l.Statistic == Median && Median.Of(j.record, l.Metric).OK() &&
			worst.Value+sure*worst.SE <= edge*min(math.Abs(l.Low), math.Abs(l.High))
	}
	j.missing = slices.DeleteFunc(j.missing, func(g gap) bool { return level(g.limit) })
	j.findings = slices.DeleteFunc(j.findings, func(f Finding) bool {
		return f.Limit.open(stat.Measured(f.Value, f.SE)) && level(f.Limit)
	})
}
