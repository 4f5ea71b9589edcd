package timing

import (
	"cmp"
	"math"
	"slices"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

const (
	// A step of the slip may be where one eye's change exceeds the usual one by a factor
	// of minLeap against the other eye's. The maxLeaps that stand out most are examined.
	minLeap  = 1.2
	maxLeaps = 20
	// Steps are looked for every stepSpacing frames besides.
	stepSpacing = 40
	// A step is looked for up to nearStep frames either way, and up to farStep where there
	// is none so small.
	nearStep = 6
	farStep  = 48
	// A step may as well be at any other frame where it costs less than minCostRise more; the
	// unit is one change that the other eye's does not explain at all.
	minCostRise = 0.3
	// maxFraction is the largest fraction of a frame that a step may seem to have.
	maxFraction = 0.25
	// The slips before and after a step are found in up to stepStretch changes and at least
	// minFaultFrames, to a standard error below maxStepSE frames.
	stepStretch    = 200
	minFaultFrames = 48
	maxStepSE      = 0.1
)

// stepCandidates lists left frames at which to look for a step of the slip: first those
// where one eye's mean change stands out against the other's, the strongest first, and then
// evenly spaced ones.
func stepCandidates(left, right []float64, slip int) []int {
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
		l, r := usualChange(left, i), usualChange(right, j)
		ratio := math.Abs(math.Log(left[i] / l * r / right[j]))
		if l > minUsualChange && r > minUsualChange && ratio > math.Log(minLeap) {
			leaps = append(leaps, leap{i, ratio})
		}
	}
	slices.SortStableFunc(leaps, func(p, q leap) int { return cmp.Compare(q.ratio, p.ratio) })
	var list []int
	for _, l := range leaps[:min(len(leaps), maxLeaps)] {
		list = append(list, l.at)
	}
	for i := stepSpacing; i < len(left); i += stepSpacing {
		list = append(list, i)
	}
	return list
}

// stepFrom returns the first left frame after a step of the slip: of all frames around
// near, the one with which the eyes' changes explain each other best. It also returns by
// how many frames that may be wrong, and the slip before the step.
func stepFrom(left, right []*picture.Signature, lc, rc changeSeries, slip, step int, places []int, near int) (at, within, before int) {
	l, r := cellChanges(left), cellChanges(right)
	from, to := between(len(left), places, near, 0)
	before = slip
	if s, ok := slipWithin(lc, rc, slip, from, near); ok {
		before = slip + int(math.Round(s))
	}
	// The right eye may be brighter.
	var ll, rr float64
	for i := from; i < to; i++ {
		if j := i + before; j >= 0 && j < len(r) && l[i] != nil && r[j] != nil {
			ll += l[i].squares()
			rr += r[j].squares()
		}
	}
	if ll == 0 || rr == 0 {
		return near, to - from, before
	}
	gain := math.Sqrt(rr / ll)
	// cost is the share of m right changes from j on that n left ones from i on do not
	// explain.
	cost := func(i, n, j, m int) float64 {
		a, leftOK := changeOver(l, i, n)
		b, rightOK := changeOver(r, j, m)
		if !leftOK || !rightOK {
			return 0
		}
		return b.unexplained(&a, gain)
	}
	n, m := 1+max(-step, 0), 1+max(step, 0) // changes of either eye across the step
	var costs []float64
	sum := 0.0
	for i := from; i < to; i++ {
		sum += cost(i, 1, i+before+step, 1)
	}
	for i := from; i+n <= to; i++ {
		total := sum + cost(i, n, i+before, m)
		for t := i; t < i+n; t++ {
			total -= cost(t, 1, t+before+step, 1)
		}
		costs = append(costs, total)
		sum += cost(i, 1, i+before, 1) - cost(i, 1, i+before+step, 1)
	}
	best := 0
	for i, c := range costs {
		if c < costs[best] {
			best = i
		}
	}
	for i, c := range costs {
		if c-costs[best] < minCostRise {
			within = max(within, stat.Abs(i-best))
		}
	}
	return from + best, within, before
}

// between returns the stretch of left frames around the count frames from at on, up to the
// next faults at the places given.
func between(n int, places []int, at, count int) (from, to int) {
	from, to = max(at-stepStretch, 0), min(at+count+stepStretch, n)
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

// stepAt returns by how many frames the slip changes across the count left frames from at
// on, judging by the stretches up to the next faults. It reports false where one of them
// does not show its slip.
func stepAt(left, right changeSeries, slip int, places []int, at, count int) (step int, known bool) {
	from, to := between(len(left), places, at, count)
	before, ok := slipWithin(left, right, slip, from, at)
	if !ok {
		return 0, false
	}
	after, ok := slipWithin(left, right, slip, at+count, to)
	if !ok || math.Abs(after-before-math.Round(after-before)) > maxFraction {
		return 0, false
	}
	return int(math.Round(after - before)), true
}

// slipWithin returns by how many frames the slip of the left frames from … to−1 differs
// from the one given. It reports false where that is not certain.
func slipWithin(left, right changeSeries, slip, from, to int) (float64, bool) {
	if to-from < minFaultFrames {
		return 0, false
	}
	from++ // the change to the first frame is not one of theirs
	for _, reach := range []int{nearStep, farStep} {
		r := make(changeSeries, to-from)
		for i := range r {
			if j := from + i + slip; j >= 0 && j < len(right) {
				r[i] = right[j]
			}
		}
		if s := newSlipSearch(left[from:to], r, reach).slip(false); s.OK() && s.SE < maxStepSE {
			return s.Value, true
		}
	}
	return 0, false
}
