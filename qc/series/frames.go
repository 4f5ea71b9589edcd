package series

import (
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/coarse"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// FrameMetrics lists the metrics of which frames are known one by one.
func FrameMetrics() []string {
	return []string{metrics.VerticalOffset, metrics.Roll, metrics.Zoom, metrics.Exposure}
}

func curveOf(s *coarse.Series, metric string) coarse.Curve {
	switch metric {
	case metrics.VerticalOffset:
		return s.Offset
	case metrics.Roll:
		return s.Roll
	case metrics.Zoom:
		return s.Zoom
	case metrics.Exposure:
		return s.Exposure
	}
	return coarse.Curve{}
}

// notEveryFrame is why there is nothing of single frames.
const notEveryFrame = "the frames were not compared one by one"

// minFrames is how many frames a stretch has at least, for a median to mean anything.
const minFrames = 3

// OfFrames ties the coarse readings of a metric to its fine moments: what both differ by
// in a shot, as the scene biases it, is taken from the coarse ones.
func OfFrames(r record.Record, metric string) (Track, string) {
	s := r.Every
	if s == nil {
		return Track{}, notEveryFrame
	}
	c := curveOf(s, metric)
	e := Track{value: slices.Clone(c.Value), se: c.SE, rate: r.Header.Left.Rate(), least: minFrames}
	for i := range e.value {
		e.place(r, s.First+i)
	}
	shots := 1
	if n := len(e.shot); n > 0 {
		shots = e.shot[n-1] + 1
	}
	differences := make([][]float64, shots)
	var fineSE, own []float64
	for _, m := range r.Moments {
		i, v := m.Frame-s.First, m.Values[metric]
		if i < 0 || i >= len(e.value) || !v.OK() || math.IsNaN(e.value[i]) {
			continue
		}
		differences[e.shot[i]] = append(differences[e.shot[i]], v.Value-e.value[i])
		fineSE, own = append(fineSE, v.SE), append(own, stat.Sq(v.SE)+stat.Sq(e.se[i]))
	}
	if len(fineSE) == 0 {
		return Track{}, "no moment tells what the frames are tied to"
	}
	var all, apart []float64
	for _, list := range differences {
		all = append(all, list...)
	}
	bias := make([]float64, shots)
	for shot, list := range differences {
		if len(list) == 0 {
			list = all
		}
		bias[shot] = stat.Quantile(slices.Clone(list), 0.5)
		for _, d := range list {
			apart = append(apart, d-bias[shot])
		}
	}
	scatter := stat.Scatter(apart, 0)
	e.slow = math.Sqrt(max(0, scatter*scatter-stat.Quantile(own, 0.5)))
	e.common = math.Hypot(stat.Quantile(fineSE, 0.5), scatter/math.Sqrt(float64(len(all))))
	for i := range e.value {
		e.value[i] += bias[e.shot[i]]
	}
	return e, ""
}
