package series

import (
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/coarse"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// curve is a metric of which frames are known one by one.
type curve struct {
	metric string
	of     func(*coarse.Series) coarse.Curve
	// squared says that the readings are squares of the metric, with its sign.
	squared bool
	// gain is by what the readings are multiplied, and gainSE how well that is known before the
	// moments tell it.
	gain, gainSE float64
}

// curves lists them. It is never changed.
var curves = []curve{
	{metric: metrics.VerticalOffset, of: func(s *coarse.Series) coarse.Curve { return s.Offset }, gain: 1},
	{metric: metrics.Roll, of: func(s *coarse.Series) coarse.Curve { return s.Roll }, gain: 1},
	{metric: metrics.Zoom, of: func(s *coarse.Series) coarse.Curve { return s.Zoom }, gain: 1},
	{metric: metrics.Exposure, of: func(s *coarse.Series) coarse.Curve { return s.Exposure }, gain: 1},
	{metric: metrics.Softness, of: func(s *coarse.Series) coarse.Curve { return s.Blur }, squared: true, gain: coarse.BlurGain, gainSE: coarse.BlurGainSE},
}

// curveOf finds the curve of a metric.
func curveOf(metric string) (curve, bool) {
	i := slices.IndexFunc(curves, func(c curve) bool { return c.metric == metric })
	if i < 0 {
		return curve{}, false
	}
	return curves[i], true
}

// notEveryFrame is why there is nothing of single frames.
const notEveryFrame = "the frames were not compared one by one"

// minFrames is how many frames a stretch has at least, for a median to mean anything.
const minFrames = 3

// tie is a moment beside the reading of its frame.
type tie struct {
	index int
	fine  stat.Measurement
}

// OfFrames ties the coarse readings of a metric to its fine moments: what both differ by
// in a shot, as the scene biases it, is taken from the coarse ones.
func OfFrames(r record.Record, metric string) (Track, string) {
	c, ok := curveOf(metric)
	if !ok || r.Every == nil {
		return Track{}, notEveryFrame
	}
	readings := c.of(r.Every)
	t := Track{value: slices.Clone(readings.Value), se: slices.Clone(readings.SE), rate: r.Header.Left.Rate(), least: minFrames, squared: c.squared, rough: c.gainSE > 0}
	for i := range t.value {
		t.place(r, r.Every.First+i)
	}
	var ties []tie
	for _, m := range r.Moments {
		i, v := m.Frame-r.Every.First, m.Values[metric]
		if i < 0 || i >= len(t.value) || !v.OK() || math.IsNaN(t.value[i]) {
			continue
		}
		if c.squared {
			v = squared(v)
		}
		ties = append(ties, tie{i, v})
	}
	if len(ties) == 0 {
		return Track{}, "no moment tells what the frames are tied to"
	}
	t.scaleTo(ties, c.gain, c.gainSE)
	t.moveTo(ties)
	return t, ""
}

// scaleTo multiplies the readings by the gain that moments which differ suggest, between half and
// twice the one that is expected. What it is not known by is an error of what departs from the
// middle of a shot.
func (t *Track) scaleTo(ties []tie, gain, gainSE float64) {
	middle := func(of func(tie) float64) func(shot int) float64 {
		byShot := map[int]float64{}
		return func(shot int) float64 {
			if v, ok := byShot[shot]; ok {
				return v
			}
			var values []float64
			for _, m := range ties {
				if t.shot[m.index] == shot {
					values = append(values, of(m))
				}
			}
			byShot[shot] = 0
			if len(values) > 0 {
				byShot[shot] = stat.Median(values)
			}
			return byShot[shot]
		}
	}
	coarsely := middle(func(m tie) float64 { return t.value[m.index] })
	if gainSE > 0 {
		finely := middle(func(m tie) float64 { return m.fine.Value })
		information, sum := 1/stat.Sq(gainSE), gain/stat.Sq(gainSE)
		for _, m := range ties {
			x, y := t.value[m.index]-coarsely(t.shot[m.index]), m.fine.Value-finely(t.shot[m.index])
			variance := stat.Sq(m.fine.SE) + stat.Sq(gain*t.se[m.index])
			information += x * x / variance
			sum += x * y / variance
		}
		gain, gainSE = min(max(sum/information, gain/2), 2*gain), 1/math.Sqrt(information)
	}
	for i, v := range t.value {
		t.se[i] = math.Hypot(gain*t.se[i], gainSE*(v-coarsely(t.shot[i])))
		t.value[i] = gain * v
	}
}

// moveTo takes from the readings of each shot by what they differ from the moments on the median;
// those of a shot without moments are moved as the others are on the median.
func (t *Track) moveTo(ties []tie) {
	differences := make([][]float64, t.shot[len(t.shot)-1]+1)
	var all, apart, fineSE, own []float64
	for _, m := range ties {
		d := m.fine.Value - t.value[m.index]
		shot := t.shot[m.index]
		differences[shot] = append(differences[shot], d)
		all = append(all, d)
		fineSE, own = append(fineSE, m.fine.SE), append(own, stat.Sq(m.fine.SE)+stat.Sq(t.se[m.index]))
	}
	bias := make([]float64, len(differences))
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
	t.slow = math.Sqrt(max(0, scatter*scatter-stat.Quantile(own, 0.5)))
	t.common = math.Hypot(stat.Quantile(fineSE, 0.5), scatter/math.Sqrt(float64(len(all))))
	for i := range t.value {
		t.value[i] += bias[t.shot[i]]
	}
}

// squared returns the square of a value with its sign.
func squared(v stat.Measurement) stat.Measurement {
	return stat.Measured(math.Copysign(v.Value*v.Value, v.Value), v.SE*max(2*math.Abs(v.Value), v.SE))
}

// root undoes squared.
func root(v stat.Measurement) stat.Measurement {
	size := math.Sqrt(math.Abs(v.Value))
	se := 0.0
	if v.SE > 0 {
		se = v.SE / max(2*size, math.Sqrt(v.SE))
	}
	return stat.Measured(math.Copysign(size, v.Value), se)
}
