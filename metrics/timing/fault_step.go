package timing

import (
	"cmp"
	"math"
	"slices"
)

const (
	// A step of the slip may be where one eye's change exceeds the usual one by a factor
	// of minLeap against the other eye's. The maxLeaps that stand out most are examined.
	minLeap  = 1.2
	maxLeaps = 20
	// Steps are looked for every stepSpacing frames besides.
	stepSpacing = 40
	// A step is looked for up to farStep frames either way where there is none up to
	// StepReach.
	farStep = 48
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

// StepReach is the largest step of the slip that is looked for first, in frames either way;
// at the ends of a clip none is larger.
const StepReach = 6

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

// stepFrom returns the first left frame after a step of the slip, looked for around near. It
// also returns by how many frames that may be wrong, and the slip before the step.
func stepFrom(eyes *eyeChanges, lc, rc changeSeries, slip, step int, places []int, near int) (at, within, before int) {
	from, to := between(len(lc), places, near, 0)
	before = slip
	if s, ok := slipWithin(lc, rc, slip, from, near); ok {
		before = slip + int(math.Round(s))
	}
	if !eyes.setGain(before, from, to) {
		return near, to - from, before
	}
	at, within = eyes.step(before, before+step, from, to)
	return at, within, before
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
	for _, reach := range []int{StepReach, farStep} {
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
