package timing

import (
	"cmp"
	"math"
	"slices"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

const (
	// A frame may follow on missing ones when it changes by hitchLeap times what
	// goes with the other eye. The maxLeaps that stand out most are looked into.
	hitchLeap = 1.2
	maxLeaps  = 20
	// A step is looked for by hitchReach frames either way and, where there is none so
	// small, by hitchFar.
	hitchReach = 6
	hitchFar   = 48
	// A step is found where any other place costs more by stepSure, as a share of a
	// change that is nothing like the other eye's.
	stepSure   = 0.3
	hitchAlong = 40 // frames from one look for a step to the next
	// A step is one of whole frames: hitchWhole is how far it may seem not to be.
	hitchWhole = 0.25
	// The slip before and after it must rest on minFaultFrames frames and be as certain
	// as hitchSE, in frames.
	minFaultFrames = 48
	hitchSE        = 0.1
	hitchAround    = 200 // changes before and after it that show a step
)

// suspects lists left frames at which to look for a step in sync: those where an
// eye changes by more than goes with the other, what stands out most first, and
// then all along.
func suspects(left, right []float64, slip int) []int {
	type leap struct {
		at    int
		ratio float64
	}
	var leaps []leap
	for i := range left {
		j := i + slip
		if j < 0 || j >= len(right) || math.IsNaN(left[i]) || math.IsNaN(right[j]) {
			continue
		}
		l, r := usual(left, i), usual(right, j)
		ratio := math.Abs(math.Log(left[i] / l * r / right[j]))
		if l > hitchFaint && r > hitchFaint && ratio > math.Log(hitchLeap) {
			leaps = append(leaps, leap{i, ratio})
		}
	}
	slices.SortStableFunc(leaps, func(p, q leap) int { return cmp.Compare(q.ratio, p.ratio) })
	var list []int
	for _, l := range leaps[:min(len(leaps), maxLeaps)] {
		list = append(list, l.at)
	}
	for i := hitchAlong; i < len(left); i += hitchAlong {
		list = append(list, i)
	}
	return list
}

// stepFrom returns the first left frame that comes after a step: of all frames
// around one, that with which the eyes' changes go together best; and how far from
// it others do nearly as well, and the slip before it.
func stepFrom(left, right []*picture.Signature, lc, rc series, slip, step int, places []int, near int) (at, within, before int) {
	l, r := drifts(left), drifts(right)
	from, to := between(len(left), places, near, 0)
	before = slip
	if s, ok := slipWithin(lc, rc, slip, from, near); ok {
		before = slip + int(math.Round(s))
	}
	// The right eye may be brighter.
	var ll, rr float64
	for i := from; i < to; i++ {
		if j := i + before; j >= 0 && j < len(r) && l[i] != nil && r[j] != nil {
			ll += l[i].size()
			rr += r[j].size()
		}
	}
	if ll == 0 || rr == 0 {
		return near, to - from, before
	}
	gain := math.Sqrt(rr / ll)
	// Apart tells how little n left changes from i on and m right ones from j on
	// come to the same.
	apart := func(i, n, j, m int) float64 {
		a, leftOK := overall(l, i, n)
		b, rightOK := overall(r, j, m)
		if !leftOK || !rightOK {
			return 0
		}
		return b.unlike(&a, gain)
	}
	n, m := 1+max(-step, 0), 1+max(step, 0) // changes of either eye across the step
	var costs []float64
	sum := 0.0
	for i := from; i < to; i++ {
		sum += apart(i, 1, i+before+step, 1)
	}
	for i := from; i+n <= to; i++ {
		cost := sum + apart(i, n, i+before, m)
		for t := i; t < i+n; t++ {
			cost -= apart(t, 1, t+before+step, 1)
		}
		costs = append(costs, cost)
		sum += apart(i, 1, i+before, 1) - apart(i, 1, i+before+step, 1)
	}
	best := 0
	for i, c := range costs {
		if c < costs[best] {
			best = i
		}
	}
	for i, c := range costs {
		if c-costs[best] < stepSure {
			within = max(within, stat.Abs(i-best))
		}
	}
	return from + best, within, before
}

// between returns the stretch around a left frame that other hitches leave.
func between(n int, places []int, at, count int) (from, to int) {
	from, to = max(at-hitchAround, 0), min(at+count+hitchAround, n)
	for _, p := range places {
		if p < at-1 {
			from = max(from, p+1)
		}
		if p > at+count+1 {
			to = min(to, p)
		}
	}
	return from, to
}

// stepAt returns by how many frames the slip changes at a left frame, as the
// stretches before and after it show up to the next stumbles.
func stepAt(left, right series, slip int, places []int, at, count int) (step int, known bool) {
	from, to := between(len(left), places, at, count)
	before, ok := slipWithin(left, right, slip, from, at)
	if !ok {
		return 0, false
	}
	after, ok := slipWithin(left, right, slip, at+count, to)
	if !ok || math.Abs(after-before-math.Round(after-before)) > hitchWhole {
		return 0, false
	}
	return int(math.Round(after - before)), true
}

// slipWithin returns by how much the slip of the left frames from … to−1 differs
// from the one given.
func slipWithin(left, right series, slip, from, to int) (float64, bool) {
	if to-from < minFaultFrames {
		return 0, false
	}
	from++ // the change to the first frame is not one of theirs
	for _, reach := range []int{hitchReach, hitchFar} {
		r := make(series, to-from)
		for i := range r {
			if j := from + i + slip; j >= 0 && j < len(right) {
				r[i] = right[j]
			}
		}
		if s := newSlipSearch(left[from:to], r, reach).slip(false); s.OK() && s.SE < hitchSE {
			return s.Value, true
		}
	}
	return 0, false
}
