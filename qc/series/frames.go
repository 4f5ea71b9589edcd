package series

import (
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/coarse"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// stretchSeconds is how long a stretch is at least that is held against a limit. The project's
// own choice: what is over sooner an audience hardly feels.
const stretchSeconds = 0.5

// minStretchFrames is how many frames a stretch has at least, for a median to mean anything.
const minStretchFrames = 3

// Frames is a metric frame by frame: the coarse readings brought to the scale of the fine
// moments.
type Frames struct {
	first     int
	value, se []float64 // NaN where not known
	// common is the standard error that all frames of a shot share, and slow that of what the
	// coarse readings wander about the fine ones as the scene changes.
	common, slow float64
	window       int // frames of a stretch
	shot         []int
}

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

// OfFrames ties the coarse readings of a metric to its fine moments: what both differ by
// in a shot, as the scene biases it, is taken from the coarse ones.
func OfFrames(r record.Record, metric string) (Frames, string) {
	s := r.Every
	if s == nil {
		return Frames{}, notEveryFrame
	}
	c := curveOf(s, metric)
	e := Frames{first: s.First, value: slices.Clone(c.Value), se: c.SE, window: minStretchFrames, shot: make([]int, len(c.Value))}
	if rate := r.Header.Left.Rate(); rate > 0 {
		e.window = max(e.window, int(math.Ceil(stretchSeconds*rate)))
	}
	shots := 1
	for i := range e.shot {
		e.shot[i] = r.Shot(s.First + i)
		shots = max(shots, e.shot[i]+1)
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
		return Frames{}, "no moment tells what the frames are tied to"
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

// Range returns the first of the left eye's frames that were compared and the one after the
// last.
func (e Frames) Range() (first, end int) { return e.first, e.first + len(e.value) }

// smoothReach is over how many frames either way values are smoothed, by their median: steps
// stay where they are.
const smoothReach = 2

// Smoothed returns the value of one of the left eye's frames without the noise of a single one;
// false where nothing is known about it.
func (e Frames) Smoothed(frame int) (value float64, ok bool) {
	i := frame - e.first
	if i < 0 || i >= len(e.value) || math.IsNaN(e.value[i]) {
		return 0, false
	}
	var around []float64
	for j := max(i-smoothReach, 0); j <= min(i+smoothReach, len(e.value)-1); j++ {
		if e.shot[j] == e.shot[i] && !math.IsNaN(e.value[j]) {
			around = append(around, e.value[j])
		}
	}
	return stat.Median(around), true
}

// reading is the median over a stretch of frames.
type reading struct {
	stat.Measurement
	from int // index of its first frame
}

// stretches returns the median over each stretch of frames of one shot, at least half of which
// are known. A clip shorter than a stretch is one.
func (e Frames) stretches() []reading {
	var all []reading
	n := min(e.window, len(e.value))
	for from := 0; n > 0 && from+n <= len(e.value); from++ {
		if e.shot[from] != e.shot[from+n-1] {
			continue
		}
		var values, errs []float64
		for i := from; i < from+n; i++ {
			if !math.IsNaN(e.value[i]) {
				values, errs = append(values, e.value[i]), append(errs, e.se[i])
			}
		}
		if 2*len(values) < n {
			continue
		}
		se := math.Sqrt(math.Pi/2/float64(len(values))) * stat.Quantile(errs, 0.5)
		all = append(all, reading{stat.Measured(stat.Quantile(values, 0.5), se), from})
	}
	return all
}

// widened returns a stretch's reading with all of its error. The worst of n independent stretches
// is off by √(2·ln n) of their errors by chance alone, and so that is what counts as its own
// error.
func (e Frames) widened(m reading, of int, common float64) stat.Measurement {
	independent := max(float64(of)/float64(max(e.window, 1)), 1)
	own := m.SE * max(1, math.Sqrt(2*math.Log(independent)))
	return stat.Measured(m.Value, math.Sqrt(own*own+common*common+e.slow*e.slow))
}

// tooFewFrames is why there is no stretch.
const tooFewFrames = "too few frames show enough to be compared"

// Worst returns the reading of the stretch that departs most from an ideal value, and its
// middle frame, an index; or why there is none.
func (e Frames) Worst(ideal float64) (value stat.Measurement, middle int) {
	all := e.stretches()
	if len(all) == 0 {
		return stat.Missing(tooFewFrames), 0
	}
	worst := all[0]
	for _, m := range all {
		if math.Abs(m.Value-ideal) > math.Abs(worst.Value-ideal) {
			worst = m
		}
	}
	return e.widened(worst, len(all), e.common), worst.from + e.length()/2
}

// length returns the number of frames of a stretch.
func (e Frames) length() int { return min(e.window, len(e.value)) }

// Beyond returns the frames of the left eye from and to which values around an index exceed
// something, and the one where they exceed it most.
func (e Frames) Beyond(about int, excess func(value float64) float64) (from, to, worst int) {
	first, last := e.run(about, func(i int) bool { return excess(e.value[i]) > 0 })
	at := about
	for i := first; i <= last; i++ {
		if !math.IsNaN(e.value[i]) && !(excess(e.value[i]) <= excess(e.value[at])) {
			at = i
		}
	}
	return e.first + first, e.first + last, e.first + at
}

// maxSpike is how many frames in a row may depart from a run, or not be known, without ending
// it.
const maxSpike = 2

// run returns the first and the last frame of the run of frames about one of them, in its shot,
// for which something holds.
func (e Frames) run(about int, holds func(i int) bool) (from, to int) {
	along := func(step int) int {
		last := about
		for i := about; i >= 0 && i < len(e.value) && e.shot[i] == e.shot[about]; i += step {
			switch {
			case !math.IsNaN(e.value[i]) && holds(i):
				last = i
			case max(i-last, last-i) > maxSpike:
				return last
			}
		}
		return last
	}
	return along(-1), along(1)
}

// Change returns the largest change within one shot, from one stretch to another, and between
// which of the left eye's frames most of it happens: the last that is nearer to the value
// before and the first that is nearer to the value after. Where values come back, it is their
// going away.
func (e Frames) Change() (value stat.Measurement, last, first int) {
	all := e.stretches()
	if len(all) == 0 {
		return stat.Missing(tooFewFrames), 0, 0
	}
	var from, to reading
	for rest := all; len(rest) > 0; {
		n := 1
		for n < len(rest) && e.shot[rest[n].from] == e.shot[rest[0].from] {
			n++
		}
		if a, b := e.extremes(rest[:n]); !from.OK() || math.Abs(b.Value-a.Value) > math.Abs(to.Value-from.Value) {
			from, to = a, b
		}
		rest = rest[n:]
	}
	half := (from.Value + to.Value) / 2
	_, index := e.run(from.from+e.length()/2, func(i int) bool { return (e.value[i] < half) == (from.Value < half) })
	// What all frames share cancels; what wanders does not.
	se := math.Hypot(e.widened(from, len(all), 0).SE, e.widened(to, len(all), 0).SE)
	return stat.Measured(to.Value-from.Value, se), e.first + index, e.first + min(index+1, len(e.value)-1)
}

// extremes returns the lowest and the highest of stretches, the earlier one first; of those
// that are as low or as high but for their errors the earliest.
func (e Frames) extremes(list []reading) (from, to reading) {
	low, high := list[0], list[0]
	for _, m := range list {
		if m.Value < low.Value-math.Hypot(m.SE, low.SE) {
			low = m
		}
		if m.Value > high.Value+math.Hypot(m.SE, high.SE) {
			high = m
		}
	}
	if low.from > high.from {
		return high, low
	}
	return low, high
}
