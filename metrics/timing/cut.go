package timing

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

const (
	// shotSpan is how many frames before and after a cut have to be of one shot each: after
	// a flash, or something that passes close to the lens, the old picture is back sooner.
	shotSpan = 3
	// minCutDifference is the least difference of pictures on both sides of a cut, and
	// minCutRatio how many times that of pictures on the same side it must be. The
	// project's own choice, see the tests.
	minCutDifference = 0.25
	minCutRatio      = 3
	// minContrast is the least standard deviation of a signature, in 8-bit code values, with
	// which pictures can be compared.
	minContrast = 2
	// maxCutOffset is the largest difference of the eyes' cuts in frames.
	maxCutOffset = 1
)

// Cuts returns the left eye's frames at which both eyes cut to another shot, in ascending
// order. Signatures are of consecutive frames, nil where one was not read; slipAt returns
// by how many frames the right eye's file is behind at a left frame. Dissolves, and cuts
// from or to black, are not found.
func Cuts(left, right []*picture.Signature, slipAt func(frame int) int) []int {
	var cuts []int
	for t := range left {
		if !cutAt(left, t) {
			continue
		}
		for d := -maxCutOffset; d <= maxCutOffset; d++ {
			if cutAt(right, t+slipAt(t)+d) {
				cuts = append(cuts, t)
				break
			}
		}
	}
	return cuts
}

// cutAt reports whether a frame is the first of another shot.
func cutAt(list []*picture.Signature, t int) bool {
	if t < 2 || t+2 > len(list) || list[t-1] == nil || list[t] == nil {
		return false
	}
	if different, ok := difference(list[t-1], list[t]); !ok || different < minCutDifference {
		return false
	}
	before, after := list[max(t-shotSpan, 0):t], list[t:min(t+shotSpan, len(list))]
	across, within := math.Inf(1), 0.0
	for i, s := range before {
		if i > 0 && !widen(&within, before[i-1], s) {
			return false
		}
		for _, u := range after {
			if s == nil || u == nil {
				return false
			}
			different, ok := difference(s, u)
			if !ok {
				return false
			}
			across = min(across, different)
		}
	}
	for i, s := range after[1:] {
		if !widen(&within, after[i], s) {
			return false
		}
	}
	return across >= minCutDifference && across >= minCutRatio*within
}

// widen raises the difference within one side to that of two of its pictures; it reports
// false where that is not known.
func widen(within *float64, s, u *picture.Signature) bool {
	if s == nil || u == nil {
		return false
	}
	different, ok := difference(s, u)
	*within = max(*within, different)
	return ok
}

// difference returns 1 less the correlation of two signatures, from 0 to 2: changes of
// brightness and contrast do not count. It reports false where one of them is flat.
func difference(s, u *picture.Signature) (float64, bool) {
	const n = picture.SignatureWidth * picture.SignatureHeight
	var a, b, aa, bb, ab float64
	for j := range s.Luma {
		for i, v := range s.Luma[j] {
			p, q := float64(v), float64(u.Luma[j][i])
			a += p
			b += q
			aa += p * p
			bb += q * q
			ab += p * q
		}
	}
	aa, bb, ab = aa/n-stat.Sq(a/n), bb/n-stat.Sq(b/n), ab/n-a/n*b/n
	if aa < stat.Sq(minContrast) || bb < stat.Sq(minContrast) {
		return 0, false
	}
	return 1 - ab/math.Sqrt(aa*bb), true
}
