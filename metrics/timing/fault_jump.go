package timing

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// The picture's motion is even when that of jumpNear changes before and after
// scatters by less than jumpUneven of itself, and clear when it is minJump cells;
// frames lack where one eye moves on by twice that, or nearly, and not aside, while
// the other one's pace stays within jumpCalm.
const (
	jumpNear   = 3
	jumpUneven = 0.15
	minJump    = 0.02
	jumpWide   = 0.35
	jumpAside  = 0.3
	jumpCalm   = 0.25
)

// jumps finds frames of an eye that move on by twice what the frames around them
// do, or more, in a picture that moves evenly, while the other eye's keep their
// pace: frames lack before them. Places near hitches that are known already are
// left out.
func jumps(l, r series, slip int, known []FrameFault, at func(FrameFault) int) []FrameFault {
	var list []FrameFault
	for i := range l {
		j := i + slip
		if j < 0 || j >= len(r) || slices.ContainsFunc(known, func(h FrameFault) bool { return i >= at(h)-jumpNear && i <= at(h)+h.Count+jumpNear }) {
			continue
		}
		gl, calmL := pace(l, i)
		gr, calmR := pace(r, j)
		if !calmL || !calmR {
			continue
		}
		switch {
		case math.Abs(gl-1) < jumpCalm && gr > 2-jumpWide:
			n := int(math.Round(gr)) - 1
			list = append(list, FrameFault{Right: true, Kind: Dropped, Frame: j, Count: n, Step: -n, Known: true})
		case math.Abs(gr-1) < jumpCalm && gl > 2-jumpWide:
			n := int(math.Round(gl)) - 1
			list = append(list, FrameFault{Kind: Dropped, Frame: i, Count: n, Step: n, Known: true})
		}
	}
	return list
}

// pace returns how far a change moves the picture as a multiple of what the
// changes around it do; ok says that those are even and clear, and that this one
// goes the same way.
func pace(list series, t int) (times float64, ok bool) {
	if t-jumpNear < 0 || t+jumpNear >= len(list) {
		return 0, false
	}
	var mean change
	for i := t - jumpNear; i <= t+jumpNear; i++ {
		if list[i] == nil {
			return 0, false
		}
		if i != t {
			for k := changeAcross; k < changeCount; k++ {
				mean[k] += list[i][k] / (2 * jumpNear)
			}
		}
	}
	var square, scatter, along float64
	for k := changeAcross; k < changeCount; k++ {
		square += stat.Sq(mean[k])
		along += mean[k] * list[t][k]
		for i := t - jumpNear; i <= t+jumpNear; i++ {
			if i != t {
				scatter += stat.Sq(list[i][k]-mean[k]) / (2 * jumpNear)
			}
		}
	}
	if square < stat.Sq(minJump) || scatter > stat.Sq(jumpUneven)*square {
		return 0, false
	}
	times = along / square
	var aside float64
	for k := changeAcross; k < changeCount; k++ {
		aside += stat.Sq(list[t][k] - times*mean[k])
	}
	return times, aside < stat.Sq(jumpAside)*square
}
