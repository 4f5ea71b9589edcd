package qc

import (
	"math"
	"slices"
)

// foldHeight drops that the vertical offset could not be judged where what is seen
// lies at one height in both eyes all the same. The offset is that of things at zero
// parallax: a scene that shows none of them, and is all at one distance, as far hills
// are, does not tell an offset from cameras of unequal height, though the two together
// leave nothing to be seen.
func (j *judging) foldHeight() {
	worst := Median.Of(j.record, "vertical_worst")
	if !worst.OK() || !Median.Of(j.record, "vertical_offset").OK() {
		return
	}
	j.missing = slices.DeleteFunc(j.missing, func(g gap) bool {
		return g.limit.Metric == "vertical_offset" && g.limit.Statistic == Median &&
			worst.Value+sure*worst.SE <= min(math.Abs(g.limit.Low), math.Abs(g.limit.High))
	})
}
