package judge

import (
	"fmt"
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

// everyFrame is a metric frame by frame: the coarse readings brought to the scale of the fine
// moments.
type everyFrame struct {
	first     int
	value, se []float64 // NaN where not known
	// common is the standard error that all frames of a shot share, and slow that of what the
	// coarse readings wander about the fine ones as the scene changes.
	common, slow float64
	window       int // frames of a stretch
	shot         []int
}

// everyFrameNames lists the metrics of which frames are known one by one.
func everyFrameNames() []string {
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

// everyFrameOf ties the coarse readings of a metric to its fine moments: what both differ by
// in a shot, as the scene biases it, is taken from the coarse ones.
func everyFrameOf(r record.Record, metric string) (everyFrame, string) {
	s := r.Trailer.Every
	if s == nil {
		return everyFrame{}, notEveryFrame
	}
	c := curveOf(s, metric)
	e := everyFrame{first: s.First, value: slices.Clone(c.Value), se: c.SE, window: minStretchFrames, shot: make([]int, len(c.Value))}
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
		return everyFrame{}, "no moment tells what the frames are tied to"
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

// reading is the median over a stretch of frames.
type reading struct {
	stat.Measurement
	from int // index of its first frame
}

// stretches returns the median over each stretch of frames of one shot, at least half of which
// are known. A clip shorter than a stretch is one.
func (e everyFrame) stretches() []reading {
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

// widened returns a stretch's reading with all of its error. Of many stretches one is the
// worst by chance alone: its own error counts as many times as the largest of so many
// independent ones is expected to be.
func (e everyFrame) widened(m reading, of int) stat.Measurement {
	independent := max(float64(of)/float64(max(e.window, 1)), 1)
	own := m.SE * max(1, math.Sqrt(2*math.Log(independent)))
	return stat.Measured(m.Value, math.Sqrt(own*own+e.common*e.common+e.slow*e.slow))
}

// worst returns the stretch whose reading departs most from the ideal value.
func (e everyFrame) worst(ideal float64) (worst reading, of int, ok bool) {
	all := e.stretches()
	for _, m := range all {
		if !ok || math.Abs(m.Value-ideal) > math.Abs(worst.Value-ideal) {
			worst, ok = m, true
		}
	}
	return worst, len(all), ok
}

const tooFewFrames = "too few frames show enough to be compared"

func stretchValue(r record.Record, metric string) stat.Measurement {
	e, missing := everyFrameOf(r, metric)
	if missing != "" {
		return stat.Missing(missing)
	}
	m, _ := metrics.Lookup(metric)
	worst, of, ok := e.worst(m.Ideal)
	if !ok {
		return stat.Missing(tooFewFrames)
	}
	return e.widened(worst, of)
}

// placeOfStretch returns from which frame to which a metric is out of bounds around its worst
// stretch.
func placeOfStretch(r record.Record, l Limit) Place {
	e, missing := everyFrameOf(r, l.Metric)
	m, _ := metrics.Lookup(l.Metric)
	worst, _, ok := e.worst(m.Ideal)
	if missing != "" || !ok {
		return nowhere
	}
	n := min(e.window, len(e.value))
	out := func(i int) bool { return l.excess(e.value[i]) > 0 }
	middle := worst.from + n/2
	from, to := e.run(middle, out)
	at := middle
	for i := from; i <= to; i++ {
		if !math.IsNaN(e.value[i]) && l.excess(e.value[i]) > l.excess(e.value[at]) {
			at = i
		}
	}
	return framePlace(r, e.first+from, e.first+to, e.first+at)
}

// maxSpike is how many frames in a row may depart from a run, or not be known, without ending
// it.
const maxSpike = 2

// run returns the first and the last frame of the run of frames about one of them, in its shot,
// for which something holds.
func (e everyFrame) run(about int, holds func(i int) bool) (from, to int) {
	along := func(step int) int {
		last := about
		for i := about; i >= 0 && i < len(e.value) && e.shot[i] == e.shot[about]; i += step {
			switch {
			case !math.IsNaN(e.value[i]) && holds(i):
				last = i
			case abs(i-last) > maxSpike:
				return last
			}
		}
		return last
	}
	return along(-1), along(1)
}

// change is the largest change within one shot: from one stretch to another.
func (e everyFrame) change() (from, to reading, of int, ok bool) {
	all := e.stretches()
	for rest := all; len(rest) > 0; {
		n := 1
		for n < len(rest) && e.shot[rest[n].from] == e.shot[rest[0].from] {
			n++
		}
		shot := rest[:n]
		rest = rest[n:]
		low, high := shot[0], shot[0]
		for _, m := range shot {
			if m.Value < low.Value {
				low = m
			}
			if m.Value > high.Value {
				high = m
			}
		}
		if low.from > high.from {
			low, high = high, low
		}
		if !ok || math.Abs(high.Value-low.Value) > math.Abs(to.Value-from.Value) {
			from, to, ok = low, high, true
		}
	}
	return from, to, len(all), ok
}

func changeValue(r record.Record, metric string) stat.Measurement {
	e, missing := everyFrameOf(r, metric)
	if missing != "" {
		return stat.Missing(missing)
	}
	from, to, of, ok := e.change()
	if !ok {
		return stat.Missing(tooFewFrames)
	}
	// What all frames share cancels; what wanders does not.
	e.common = 0
	return stat.Measured(to.Value-from.Value, math.Hypot(e.widened(from, of).SE, e.widened(to, of).SE))
}

// placeOfChange returns between which frames most of the change happens: from the last that is
// nearer to the value before to the first that is nearer to the value after.
func placeOfChange(r record.Record, l Limit) Place {
	e, missing := everyFrameOf(r, l.Metric)
	from, to, _, ok := e.change()
	if missing != "" || !ok {
		return nowhere
	}
	half := (from.Value + to.Value) / 2
	before := func(i int) bool { return (e.value[i] < half) == (from.Value < half) }
	n := min(e.window, len(e.value))
	_, last := e.run(from.from+n/2, before)
	first := min(last+1, len(e.value)-1)
	return framePlace(r, e.first+last, e.first+first, e.first+first)
}

func sayChange(_ judgedClip, f Finding) string {
	return fmt.Sprintf("%s changes by %s within the shot", Label(f.Limit.Metric), f.signedAmount(f.Value))
}
