package series

import (
	"cmp"
	"math"
	"slices"

	distribution "gonum.org/v1/gonum/stat"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// Track is a metric over the frames of a clip: of every frame where the frames were compared
// one by one, else of the moments.
type Track struct {
	frame     []int     // of the left eye, in ascending order
	value, se []float64 // NaN where not known
	shot      []int
	squared   bool    // values are squares of the metric, with its sign
	rough     bool    // how large its changes are is known roughly
	rate      float64 // frames per second, 0 where it is not known
	least     int     // how many frames or moments a stretch has at least
	// common is the standard error that all frames share, and slow that of what the
	// coarse readings wander about the fine ones as the scene changes.
	common, slow float64
}

// place adds a frame of the record.
func (t *Track) place(r record.Record, frame int) {
	t.frame = append(t.frame, frame)
	t.shot = append(t.shot, r.Shot(frame))
}

// minNeighbours is how many moments in a row make a stretch: what one of them shows alone may
// be over at once.
const minNeighbours = 2

// Tracks returns the tracks of a metric: that of every frame where they are known, and that of the
// moments where they are not, or only roughly; or why there is none.
func Tracks(r record.Record, metric string) (tracks []Track, missing string) {
	if t, missing := OfFrames(r, metric); missing == "" && t.mostlyKnown() {
		if tracks = append(tracks, t); !t.rough {
			return tracks, ""
		}
	}
	s, missing := moments(r, metric, func(record.Moment) bool { return true })
	if missing == "" {
		t := Track{value: s.Value, se: s.err, rate: r.Header.Left.Rate(), least: minNeighbours, common: s.common()}
		for _, i := range s.Moment {
			t.place(r, r.Moments[i].Frame)
		}
		tracks = append(tracks, t)
	}
	if len(tracks) > 0 {
		return tracks, ""
	}
	return nil, missing
}

// mostlyKnown reports whether at least half of the frames tell something.
func (t Track) mostlyKnown() bool {
	known := 0
	for _, v := range t.value {
		if !math.IsNaN(v) {
			known++
		}
	}
	return 2*known >= len(t.value)
}

// metric returns a value of the track as one of the metric.
func (t Track) metric(v stat.Measurement) stat.Measurement {
	if t.squared {
		return root(v)
	}
	return v
}

// excess returns by how much a value of the track leaves bounds that are those of the metric.
func (t Track) excess(v float64, of func(float64) float64) float64 {
	return of(t.metric(stat.Measured(v, 0)).Value)
}

// Range returns the first frame of the track and the one after the last.
func (t Track) Range() (first, end int) {
	if len(t.frame) == 0 {
		return 0, 0
	}
	return t.frame[0], t.frame[len(t.frame)-1] + 1
}

// smoothReach is over how many frames either way values are smoothed, by their median: steps
// stay where they are.
const smoothReach = 2

// Smoothed returns the value of one of the track's frames without the noise of a single one;
// false where nothing is known about it.
func (t Track) Smoothed(frame int) (value float64, ok bool) {
	i, ok := slices.BinarySearch(t.frame, frame)
	if !ok || math.IsNaN(t.value[i]) {
		return 0, false
	}
	var around []float64
	for j := max(i-smoothReach, 0); j <= min(i+smoothReach, len(t.value)-1); j++ {
		if t.shot[j] == t.shot[i] && !math.IsNaN(t.value[j]) {
			around = append(around, t.value[j])
		}
	}
	return t.metric(stat.Measured(stat.Median(around), 0)).Value, true
}

// reading is what a stretch of frames comes to.
type reading struct {
	stat.Measurement
	from, to int // indices of its first frame and of the one after its last
}

func (r reading) middle() int { return (r.from + r.to) / 2 }

// stretches returns a reading of each stretch of one shot that lasts as long, at least half of
// whose frames are known. A clip that is shorter is one. Pick returns the value of a stretch by
// the indices of those of its frames that are known, which it may sort.
func (t Track) stretches(seconds float64, pick func(known []int) float64) []reading {
	frames := 1
	if t.rate > 0 {
		frames = int(math.Ceil(seconds * t.rate))
	}
	var all []reading
	var known []int
	n := len(t.frame)
	for from, to := 0, 0; from < n; from++ {
		for to < n && (t.frame[max(to, from+1)-1]-t.frame[from]+1 < frames || to-from < t.least) {
			to++
		}
		long := t.frame[to-1]-t.frame[from]+1 >= frames && to-from >= t.least
		if !long && from > 0 {
			break
		}
		if t.shot[from] != t.shot[to-1] {
			continue
		}
		known = known[:0]
		for i := from; i < to; i++ {
			if !math.IsNaN(t.value[i]) {
				known = append(known, i)
			}
		}
		if 2*len(known) < to-from || len(known) == 0 {
			continue
		}
		se := math.Sqrt(math.Pi/2/float64(len(known))) * stat.Quantile(at(t.se, known), 0.5)
		all = append(all, reading{stat.Measured(pick(known), se), from, to})
	}
	return all
}

// at returns the values at some indices.
func at(values []float64, indices []int) []float64 {
	list := make([]float64, len(indices))
	for k, i := range indices {
		list[k] = values[i]
	}
	return list
}

// widened returns a stretch's reading with all of its error. The worst of n independent stretches
// is off by √(2·ln n) of their errors by chance alone, and so that is what counts as its own
// error.
func (t Track) widened(m reading, common float64) stat.Measurement {
	independent := max(float64(len(t.frame))/float64(m.to-m.from), 1)
	own := m.SE * max(1, math.Sqrt(2*math.Log(independent)))
	return stat.Measured(m.Value, math.Sqrt(own*own+common*common+t.slow*t.slow))
}

// tooFewFrames is why there is no stretch.
const tooFewFrames = "too few frames show enough to be compared"

// Worst returns the reading of the stretch of so many seconds that leaves its bounds farthest,
// and its middle frame, an index; or why there is none. Half of a stretch at least is as far
// out as its reading.
func (t Track) Worst(seconds float64, excess func(value float64) float64) (value stat.Measurement, middle int) {
	beyond := make([]float64, len(t.value))
	for i, v := range t.value {
		if !math.IsNaN(v) {
			beyond[i] = t.excess(v, excess)
		}
	}
	all := t.stretches(seconds, func(known []int) float64 {
		slices.SortFunc(known, func(i, j int) int { return cmp.Compare(beyond[i], beyond[j]) })
		return t.value[known[(len(known)-1)/2]]
	})
	if len(all) == 0 {
		return stat.Missing(tooFewFrames), 0
	}
	worst := all[0]
	for _, m := range all {
		if t.excess(m.Value, excess) > t.excess(worst.Value, excess) {
			worst = m
		}
	}
	return t.metric(t.widened(worst, t.common)), worst.middle()
}

// Beyond returns the frames of the left eye from and to which values around an index exceed
// something, and the one where they exceed it most.
func (t Track) Beyond(about int, excess func(value float64) float64) (from, to, worst int) {
	first, last := t.run(about, func(i int) bool { return t.excess(t.value[i], excess) > 0 })
	at := about
	for i := first; i <= last; i++ {
		if !math.IsNaN(t.value[i]) && !(t.excess(t.value[i], excess) <= t.excess(t.value[at], excess)) {
			at = i
		}
	}
	return t.frame[first], t.frame[last], t.frame[at]
}

// maxSpike is how many frames in a row may depart from a run, or not be known, without ending
// it.
const maxSpike = 2

// run returns the first and the last index of the run of frames about one of them, in its shot,
// for which something holds.
func (t Track) run(about int, holds func(i int) bool) (from, to int) {
	along := func(step int) int {
		last := about
		for i := about; i >= 0 && i < len(t.value) && t.shot[i] == t.shot[about]; i += step {
			switch {
			case !math.IsNaN(t.value[i]) && holds(i):
				last = i
			case stat.Abs(t.frame[i]-t.frame[last]) > maxSpike:
				return last
			}
		}
		return last
	}
	return along(-1), along(1)
}

// Change returns the largest change within one shot, from one stretch of so many seconds to
// another, and between which of the left eye's frames most of it happens: the last that is
// nearer to the value before and the first that is nearer to the value after. Where values come
// back, it is their going away. It is not for tracks of squares.
func (t Track) Change(seconds float64) (value stat.Measurement, last, first int) {
	all := t.stretches(seconds, func(known []int) float64 { return stat.Quantile(at(t.value, known), 0.5) })
	if len(all) == 0 {
		return stat.Missing(tooFewFrames), 0, 0
	}
	var from, to reading
	for rest := all; len(rest) > 0; {
		n := 1
		for n < len(rest) && t.shot[rest[n].from] == t.shot[rest[0].from] {
			n++
		}
		if a, b := extremes(rest[:n]); !from.OK() || math.Abs(b.Value-a.Value) > math.Abs(to.Value-from.Value) {
			from, to = a, b
		}
		rest = rest[n:]
	}
	half := (from.Value + to.Value) / 2
	_, index := t.run(from.middle(), func(i int) bool { return (t.value[i] < half) == (from.Value < half) })
	// What all frames share cancels; what wanders does not.
	se := math.Hypot(t.widened(from, 0).SE, t.widened(to, 0).SE)
	return stat.Measured(to.Value-from.Value, se), t.frame[index], t.frame[min(index+1, len(t.frame)-1)]
}

// extremes returns the lowest and the highest of stretches, the earlier one first; of those
// that are as low or as high but for their errors the earliest.
func extremes(list []reading) (from, to reading) {
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

// oscillating is how many stretches in a row must show that values go to and fro: a step falls
// into one, a blip that is no longer than a stretch into two.
const oscillating = 3

// partOfPeriod is how well an amplitude is known at least, as a share of it: stretches do not hold
// whole periods.
const partOfPeriod = 0.1

// Oscillation returns the amplitude of what goes to and fro within a shot: √2 of the standard
// deviation, less what noise makes of it, in the steadiest of three neighbouring stretches of so
// many seconds, where that is worst. Middle is the index in the middle of these. What takes much
// longer than a stretch to come back is told as a change instead.
func (t Track) Oscillation(seconds float64) (amplitude stat.Measurement, middle int) {
	all := t.stretches(seconds, func(known []int) float64 { return distribution.PopVariance(at(t.value, known), nil) })
	begins := map[int]int{} // the stretch that begins at an index
	noise := make([]float64, len(all))
	for k, m := range all {
		begins[m.from] = k
		var own []float64
		for i := m.from; i < m.to; i++ {
			if !math.IsNaN(t.se[i]) {
				own = append(own, stat.Sq(t.se[i]))
			}
		}
		noise[k] = stat.Median(own)
	}
	amplitude = stat.Missing(tooFewFrames)
	for k := range all {
		steadiest, last, in := k, k, 1
		for ; in < oscillating; in++ {
			next, ok := begins[all[last].to]
			if !ok || t.shot[all[next].from] != t.shot[all[k].from] {
				break
			}
			if last = next; all[next].Value-noise[next] < all[steadiest].Value-noise[steadiest] {
				steadiest = next
			}
		}
		size := math.Sqrt(2 * max(all[steadiest].Value-noise[steadiest], 0))
		if in == oscillating && (!amplitude.OK() || size > amplitude.Value) {
			// Noise of n values; and the part of a period by which a stretch is too long or too short.
			n := float64(all[steadiest].to - all[steadiest].from)
			amplitude = stat.Measured(size, math.Hypot(math.Sqrt(2*noise[steadiest]/n), partOfPeriod*size))
			middle = (all[k].from + all[last].to) / 2
		}
	}
	return amplitude, middle
}
