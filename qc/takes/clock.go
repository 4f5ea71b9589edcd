package takes

import (
	"cmp"
	"math"
	"slices"
)

// Clock names what two takes' times are read from.
type Clock string

const (
	NoClock  Clock = ""
	Timecode Clock = "timecode"
	Created  Clock = "creation time"
)

// offset is a clock together with by how much the right camera's is ahead.
type offset struct {
	clock Clock
	at    float64 // seconds, at the left take's time zero
	drift float64 // seconds per second
	zero  float64 // time of the left clock
	prior float64 // that the cameras' clocks are so far apart
	pace  float64 // seconds from one take to the next
	// pressed is the mean of how many seconds the record buttons are pressed apart.
	pressed float64
}

// apart returns by how many seconds the right take begins later than the left one; false
// where the clock does not tell of both.
func (o offset) apart(l, r Take) (float64, bool) {
	switch o.clock {
	case Timecode:
		d := around(r.Timecode - l.Timecode - o.at)
		return d - o.drift*around(l.Timecode-o.zero), !math.IsNaN(d)
	case Created:
		d := r.Created - l.Created - o.at
		return d - o.drift*(l.Created-o.zero), !math.IsNaN(d)
	}
	return 0, false
}

const (
	// reach is how many seconds apart the record buttons may be and yet count for an offset.
	reach = 20
	// maxOffsets is how many offsets of one clock are followed, and minHeap how much of the
	// largest heap of differences the heap of another has to hold.
	maxOffsets, minHeap = 6, 0.2
)

// offsets returns the offsets that one clock may have, the likeliest first.
func offsets(clock Clock, left, right []Take) []offset {
	type difference struct{ at, weight float64 }
	var all []difference
	unset := offset{clock: clock}
	for _, l := range left {
		for _, r := range right {
			d, ok := unset.apart(l, r)
			if !ok {
				continue
			}
			weight := 1.0
			if l.Length > 0 && r.Length > 0 {
				weight = math.Exp(-math.Abs(l.Length-r.Length) / (2 * pressed))
			}
			if weight > 1e-3 {
				all = append(all, difference{d, weight})
			}
		}
	}
	slices.SortFunc(all, func(a, b difference) int { return cmp.Compare(a.at, b.at) })
	// heaps holds, for each difference, the weight of those around it.
	type heap struct{ at, weight float64 }
	heaps := make([]heap, len(all))
	from, to, sum, moment := 0, 0, 0.0, 0.0
	for i, d := range all {
		for to < len(all) && all[to].at <= d.at+reach {
			sum, moment = sum+all[to].weight, moment+all[to].weight*(all[to].at-all[0].at)
			to++
		}
		for all[from].at < d.at-reach {
			sum, moment = sum-all[from].weight, moment-all[from].weight*(all[from].at-all[0].at)
			from++
		}
		heaps[i] = heap{all[0].at + moment/sum, sum}
	}
	slices.SortStableFunc(heaps, func(a, b heap) int { return cmp.Compare(b.weight, a.weight) })
	var list []offset
	pace := pace(clock, left, right)
	for _, h := range heaps {
		if len(list) == maxOffsets || h.weight < minHeap*heaps[0].weight {
			break
		}
		near := func(o offset) bool { return math.Abs(o.at-h.at) < reach }
		if !slices.ContainsFunc(list, near) {
			list = append(list, offset{clock: clock, at: h.at, prior: prior(clock, h.at, reach), pace: pace, pressed: pressed})
		}
	}
	// Where buttons are pressed at a signal, or linked, takes lie closer together.
	for _, h := range slices.Clone(list) {
		for _, mean := range closer {
			if at, ok := h.densest(left, right, 2*mean); ok {
				o := h
				o.at, o.pressed, o.prior = at, mean, prior(clock, at, 2*mean)
				list = append(list, o)
			}
		}
	}
	return list
}

// densest returns the offset within reach of this one around which most differences lie
// within so many seconds; false where there are none.
func (o offset) densest(left, right []Take, within float64) (float64, bool) {
	var near []float64
	for _, l := range left {
		for _, r := range right {
			if d, ok := o.apart(l, r); ok && math.Abs(d) < 2*reach {
				near = append(near, d)
			}
		}
	}
	slices.Sort(near)
	best, most := 0.0, 0
	for from, to := 0, 0; from < len(near); from++ {
		for to < len(near) && near[to] <= near[from]+within {
			to++
		}
		if to-from > most {
			most, best = to-from, near[(from+to-1)/2]
		}
	}
	return o.at + best, most > 0
}

// pace returns how widely the next take may lie by chance, in seconds: as the times from one
// take to the next spread, between their quartiles, since takes at an even pace coincide
// under any shift; of few takes, their median; and where each camera has but one, they may
// lie anywhere in a day of twelve hours.
func pace(clock Clock, left, right []Take) float64 {
	const few = 4
	unset := offset{clock: clock}
	var all []float64
	spread := 0.0
	for _, takes := range [][]Take{left, right} {
		var steps []float64
		for i := 1; i < len(takes); i++ {
			if d, ok := unset.apart(takes[i-1], takes[i]); ok {
				steps = append(steps, math.Abs(d))
			}
		}
		slices.Sort(steps)
		if n := len(steps); n >= few {
			spread = max(spread, steps[3*n/4]-steps[n/4])
		} else {
			spread = math.Inf(1)
		}
		all = append(all, steps...)
	}
	if len(all) == 0 {
		return day / 2
	}
	slices.Sort(all)
	return min(all[len(all)/2], spread)
}

// prior returns how probable it is that two cameras' clocks differ by about so much, to
// within so many seconds either way.
func prior(clock Clock, at, within float64) float64 {
	if clock == Timecode {
		// Cameras are jammed to one source, or run free.
		const jammed, free = 0.8, 0.2
		if math.Abs(at) < within {
			return jammed
		}
		return free * 2 * within / day
	}
	// Clocks are set by hand to the minute, in one time zone or two, or not at all.
	const set, zones, unset, minute = 0.5, 0.25, 0.25, 60.0
	p := unset * 2 * within / (2 * day)
	const quarter = 900.0 // time zones differ by whole quarters of an hour
	switch {
	case math.Abs(at) < minute:
		p += set * 2 * within / (2 * minute)
	case math.Abs(at-quarter*math.Round(at/quarter)) < minute && math.Abs(at) < day:
		p += zones * 2 * within / (2 * minute) / (2 * day / quarter)
	}
	return p
}

// fitted returns the offset as pairs with their weights bear it out; false where none do.
// Buttons pressed apart
// scatter around it; the prior keeps the drift to what quartz clocks do.
func (o offset) fitted(pairs []weighed, left, right []Take) (offset, bool) {
	const maxDrift = 3e-4 // one second an hour
	scatter := math.Sqrt2 * o.pressed
	start := o
	start.drift = 0
	var w, wt, wd float64
	time := func(l Take) float64 {
		if o.clock == Timecode {
			return l.Timecode
		}
		return l.Created
	}
	for _, p := range pairs {
		if d, ok := start.apart(left[p.left], right[p.right]); ok {
			w, wt, wd = w+p.weight, wt+p.weight*time(left[p.left]), wd+p.weight*d
		}
	}
	if w < negligible {
		return o, false
	}
	zero, mean := wt/w, wd/w
	tt, td := scatter*scatter/(maxDrift*maxDrift), 0.0
	for _, p := range pairs {
		if d, ok := start.apart(left[p.left], right[p.right]); ok {
			t := time(left[p.left]) - zero
			tt, td = tt+p.weight*t*t, td+p.weight*t*(d-mean)
		}
	}
	o.zero, o.drift = zero, td/tt
	o.at = start.at + mean*w/(w+0.1) // less than one pair hardly moves what was found from all
	return o, true
}
