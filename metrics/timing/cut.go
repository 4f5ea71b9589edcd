package timing

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

const (
	// shotSpan is how many frames before and after a cut have to be of one shot
	// each: what flashes or passes by close to the lens is back sooner.
	shotSpan = 3
	// shotUnlike is how unlike the pictures on both sides of a cut must be, 1 less
	// their correlation, and shotClear how many times as unlike as pictures on the
	// same side. The project's own choice, see the tests.
	shotUnlike = 0.25
	shotClear  = 3
	// shotFlat is the least standard deviation of a signature, in 8-bit code values,
	// that tells pictures apart.
	shotFlat = 2
	// shotLoose is by how many frames the eyes' cuts may seem to be apart.
	shotLoose = 1
)

// Cuts returns the left eye's frames that begin another shot, in ascending order,
// where both eyes cut hard from one picture to another. Signatures are of
// consecutive frames, nil where one was not read; slipAt says by how many frames
// the right eye's file is behind at a left frame. A dissolve is no cut, and neither
// is one from or to black.
func Cuts(left, right []*picture.Signature, slipAt func(frame int) int) []int {
	var cuts []int
	for t := range left {
		if !cutAt(left, t) {
			continue
		}
		for d := -shotLoose; d <= shotLoose; d++ {
			if cutAt(right, t+slipAt(t)+d) {
				cuts = append(cuts, t)
				break
			}
		}
	}
	return cuts
}

// cutAt reports whether a frame begins another shot.
func cutAt(list []*picture.Signature, t int) bool {
	if t < 2 || t+2 > len(list) || list[t-1] == nil || list[t] == nil {
		return false
	}
	if unlike, ok := unlikeness(list[t-1], list[t]); !ok || unlike < shotUnlike {
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
			unlike, ok := unlikeness(s, u)
			if !ok {
				return false
			}
			across = min(across, unlike)
		}
	}
	for i, s := range after[1:] {
		if !widen(&within, after[i], s) {
			return false
		}
	}
	return across >= shotUnlike && across >= shotClear*within
}

// widen raises how unlike pictures of one side are; false where that is not known.
func widen(within *float64, s, u *picture.Signature) bool {
	if s == nil || u == nil {
		return false
	}
	unlike, ok := unlikeness(s, u)
	*within = max(*within, unlike)
	return ok
}

// unlike returns 1 less the correlation of two signatures, from 0 to 2, which no
// change of brightness or contrast makes; false where one of them is flat.
func unlikeness(s, u *picture.Signature) (float64, bool) {
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
	if aa < stat.Sq(shotFlat) || bb < stat.Sq(shotFlat) {
		return 0, false
	}
	return 1 - ab/math.Sqrt(aa*bb), true
}
