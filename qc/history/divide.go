package history

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// Stretches are at least so long, in clips: fewer cannot be told from odd clips, or a line from
// a step.
const (
	minStretch = 3
	minCreep   = 6
)

// falseAlarm is the chance that anything is told of a rig that stayed the same all day. The
// project's own choice.
const falseAlarm = 0.001

// penalties returns what a step and a creep have to save of the sum of squares, for a term of
// so many unknowns over so many clips; and by how many of its errors either has to stand out
// where clips share theirs, so that fewer scenes than clips tell it.
func penalties(unknowns, clips int) (step, creep, stands float64) {
	chance := falseAlarm / float64(clips*len(Terms))
	return tail(unknowns, max(1, clips-unknowns), chance), tail(1, max(1, clips-1), chance), math.Sqrt(tail(1, manyOthers, chance))
}

// manyOthers are so many values that the variance is as good as known.
const manyOthers = 1e6

// tail returns what the sum of so many squares of normal variables exceeds by the given chance,
// where their variance is known from so many others: d times a quantile of the F distribution.
func tail(d, others int, chance float64) float64 {
	exceeds := func(sum float64) float64 {
		return mathext.RegIncBeta(float64(others)/2, float64(d)/2, float64(others)/(float64(others)+sum))
	}
	low, high := 0.0, 1.0
	for exceeds(high) > chance {
		low, high = high, 2*high
	}
	for range 50 {
		if middle := (low + high) / 2; exceeds(middle) > chance {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

// part is a stretch of the clips that are divided: those from From to before To.
type part struct {
	from, to int
	creeps   bool
}

// free returns how many unknowns a part has.
func (p part) free() int {
	if p.creeps {
		return 3
	}
	return 2
}

// divide divides clips into the stretches that cost least, given the sums of the equations of
// the first 0, 1, 2 … clips.
func divide(sums []normal, prior, step, creep float64) []part {
	n := len(sums) - 1
	best := make([]float64, n+1)
	last := make([]part, n+1)
	for to := 1; to <= n; to++ {
		best[to] = math.Inf(1)
		for from := 0; from == 0 || from <= to-minStretch; from++ {
			before := best[from]
			if from > 0 {
				before += step
			}
			if before >= best[to] {
				continue
			}
			e := sums[to].less(&sums[from])
			if c := before + e.cost(prior, 2); c < best[to] {
				best[to], last[to] = c, part{from, to, false}
			}
			if to-from >= minCreep && before+creep < best[to] {
				if c := before + creep + e.cost(prior, 3); c < best[to] {
					best[to], last[to] = c, part{from, to, true}
				}
			}
		}
		// Until there are enough clips for a stretch, one that reaches to here stands for none.
		if to < minStretch && to < n {
			best[to] = math.Inf(1)
		}
	}
	var parts []part
	for to := n; to > 0; to = last[to].from {
		parts = append(parts, last[to])
	}
	slices.Reverse(parts)
	return parts
}
