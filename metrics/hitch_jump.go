package metrics

import (
	"math"
	"slices"
)

// The picture's motion is even when that of jumpNear changes before and after
// scatters by less than jumpUneven of itself, and clear when it is jumpLeast cells;
// frames lack where one eye moves on by twice that, or nearly, and not aside, while
// the other one's pace stays within jumpCalm.
const (
	jumpNear   = 3
	jumpUneven = 0.15
	jumpLeast  = 0.02
	jumpWide   = 0.35
	jumpAside  = 0.3
	jumpCalm   = 0.25
)

// jumps finds frames of an eye that move on by twice what the frames around them
// do, or more, in a picture that moves evenly, while the other eye's keep their
// pace: frames lack before them. Places near hitches that are known already are
// left out.
func jumps(l, r course, slip int, known []Hitch, at func(Hitch) int) []Hitch {
	var list []Hitch
	for i := range l {
		j := i + slip
		if j < 0 || j >= len(r) || slices.ContainsFunc(known, func(h Hitch) bool { return i >= at(h)-jumpNear && i <= at(h)+h.Count+jumpNear }) {
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
			list = append(list, Hitch{Right: true, Kind: Dropped, Frame: j, Count: n, Step: -n, Known: true})
		case math.Abs(gr-1) < jumpCalm && gl > 2-jumpWide:
			n := int(math.Round(gl)) - 1
			list = append(list, Hitch{Kind: Dropped, Frame: i, Count: n, Step: n, Known: true})
		}
	}
	return list
}

// pace returns how far a change moves the picture as a multiple of what the
// changes around it do; ok says that those are even and clear, and that this one
// goes the same way.
func pace(list course, t int) (times float64, ok bool) {
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
		square += sq(mean[k])
		along += mean[k] * list[t][k]
		for i := t - jumpNear; i <= t+jumpNear; i++ {
			if i != t {
				scatter += sq(list[i][k]-mean[k]) / (2 * jumpNear)
			}
		}
	}
	if square < sq(jumpLeast) || scatter > sq(jumpUneven)*square {
		return 0, false
	}
	times = along / square
	var aside float64
	for k := changeAcross; k < changeCount; k++ {
		aside += sq(list[t][k] - times*mean[k])
	}
	return times, aside < sq(jumpAside)*square
}
