package timing

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

const (
	// jumpAround is how many changes before and after one show the usual motion.
	jumpAround = 3
	// The motion is steady when the flow of those changes scatters by less than
	// maxJumpScatter of its mean, and clear when that is at least minJumpMotion cells.
	maxJumpScatter = 0.15
	minJumpMotion  = 0.02
	// Frames are missing where one eye moves on by at least twice the usual motion, less
	// jumpTolerance of it, with less than maxJumpAside of it in another direction, while
	// the other eye's motion stays within steadyTolerance of the usual one.
	jumpTolerance   = 0.35
	maxJumpAside    = 0.3
	steadyTolerance = 0.25
)

// jumps finds dropped frames by the jump that they leave in a picture that moves steadily,
// where the other eye moves on as usual. Places near known faults, whose left frames at
// returns, are left out.
func jumps(l, r changeSeries, slip int, known []FrameFault, at func(FrameFault) int) []FrameFault {
	var list []FrameFault
	for i := range l {
		j := i + slip
		if j < 0 || j >= len(r) || slices.ContainsFunc(known, func(h FrameFault) bool { return i >= at(h)-jumpAround && i <= at(h)+h.Count+jumpAround }) {
			continue
		}
		gl, steadyLeft := relativeMotion(l, i)
		gr, steadyRight := relativeMotion(r, j)
		if !steadyLeft || !steadyRight {
			continue
		}
		switch {
		case math.Abs(gl-1) < steadyTolerance && gr > 2-jumpTolerance:
			n := int(math.Round(gr)) - 1
			list = append(list, FrameFault{Right: true, Kind: Dropped, Frame: j, Count: n, Step: -n, StepKnown: true})
		case math.Abs(gr-1) < steadyTolerance && gl > 2-jumpTolerance:
			n := int(math.Round(gl)) - 1
			list = append(list, FrameFault{Kind: Dropped, Frame: i, Count: n, Step: n, StepKnown: true})
		}
	}
	return list
}

// relativeMotion returns how far change t moves the picture as a multiple of the mean of
// the changes around it. It reports false where those are not steady and clear, or where
// the change goes another way.
func relativeMotion(list changeSeries, t int) (times float64, ok bool) {
	if t-jumpAround < 0 || t+jumpAround >= len(list) {
		return 0, false
	}
	var mean change
	for i := t - jumpAround; i <= t+jumpAround; i++ {
		if list[i] == nil {
			return 0, false
		}
		if i != t {
			for k := changeAcross; k < changeCount; k++ {
				mean[k] += list[i][k] / (2 * jumpAround)
			}
		}
	}
	var square, scatter, along float64
	for k := changeAcross; k < changeCount; k++ {
		square += stat.Sq(mean[k])
		along += mean[k] * list[t][k]
		for i := t - jumpAround; i <= t+jumpAround; i++ {
			if i != t {
				scatter += stat.Sq(list[i][k]-mean[k]) / (2 * jumpAround)
			}
		}
	}
	if square < stat.Sq(minJumpMotion) || scatter > stat.Sq(maxJumpScatter)*square {
		return 0, false
	}
	times = along / square
	var aside float64
	for k := changeAcross; k < changeCount; k++ {
		aside += stat.Sq(list[t][k] - times*mean[k])
	}
	return times, aside < stat.Sq(maxJumpAside)*square
}
