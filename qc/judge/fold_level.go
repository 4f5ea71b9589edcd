package judge

import (
	"math"

	"nightpair/metrics"
	"nightpair/qc/record"
)

// atEdge is how much vertical disparity a figure of so much makes where it is largest,
// in % of the picture height: a picture 1 % larger shows what is at its top half a per
// cent higher.
var atEdge = map[string]float64{metrics.VerticalOffset: 1, metrics.Zoom: 0.5}

// foldLevel drops that the vertical offset or the zoom could not be judged, or not be told
// from its limit, where what is seen lies at one height in both eyes all the same. The
// offset is that of things at zero parallax: a scene that shows none of them, and is all at
// one distance, as far hills are, does not tell an offset from cameras of unequal height,
// though the two together leave nothing to be seen. Nor does open ground tell a larger
// picture from a camera that stands farther forward.
func foldLevel(r record.Record, all found) found {
	worst := Median.Of(r, metrics.VerticalWorst)
	if !worst.OK() {
		return all
	}
	level := func(f Finding) bool {
		l := f.Limit
		edge, ok := atEdge[l.Metric]
		return ok && l.Statistic == Median && Median.Of(r, l.Metric).OK() &&
			worst.Value+record.Sure*worst.SE <= edge*min(math.Abs(l.Low), math.Abs(l.High))
	}
	all.missing = without(all.missing, level)
	all.exceeded = without(all.exceeded, func(f Finding) bool { return f.Open() && level(f) })
	return all
}
