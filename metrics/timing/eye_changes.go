package timing

import (
	"math"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
)

// eyeChanges compares the changes of both eyes cell by cell: what happens where in the
// picture tells the slip from few frames, which series of sums over the picture do not.
type eyeChanges struct {
	left, right []*cellChange
	gain        float64             // the right eye's brightness over the left one's
	known       map[[2]int]*float64 // unexplained, nil where missing, by left and right frame
}

func newEyeChanges(left, right []*picture.Signature) *eyeChanges {
	return &eyeChanges{left: cellChanges(left), right: cellChanges(right), gain: 1, known: map[[2]int]*float64{}}
}

// setGain takes the gain from the left frames from … to−1 at a slip. It reports false where
// nothing changes in them.
func (e *eyeChanges) setGain(slip, from, to int) bool {
	var ll, rr float64
	for i := from; i < to; i++ {
		if j := i + slip; i >= 0 && i < len(e.left) && j >= 0 && j < len(e.right) && e.left[i] != nil && e.right[j] != nil {
			ll += e.left[i].squares()
			rr += e.right[j].squares()
		}
	}
	if ll == 0 || rr == 0 {
		return false
	}
	e.gain = math.Sqrt(rr / ll)
	clear(e.known)
	return true
}

// unexplained returns the share of m right changes from j on that n left ones from i on do
// not explain, 0 to 1. It reports false where one of them is missing.
func (e *eyeChanges) unexplained(i, n, j, m int) (float64, bool) {
	a, leftOK := changeOver(e.left, i, n)
	b, rightOK := changeOver(e.right, j, m)
	if !leftOK || !rightOK {
		return 0, false
	}
	return b.unexplained(&a, e.gain), true
}

// at is the same of one change each, kept for the next time.
func (e *eyeChanges) at(i, j int) (float64, bool) {
	v, ok := e.known[[2]int{i, j}]
	if !ok {
		if u, seen := e.unexplained(i, 1, j, 1); seen {
			v = &u
		}
		e.known[[2]int{i, j}] = v
	}
	if v == nil {
		return 0, false
	}
	return *v, true
}

// cost is at, or 0 where a change is missing.
func (e *eyeChanges) cost(i, j int) float64 {
	v, _ := e.at(i, j)
	return v
}

// step returns the first left frame after a step from one slip to another: of the left
// frames from … to−1 the one with which the eyes' changes explain each other best. It also
// returns by how many frames that may be wrong.
func (e *eyeChanges) step(before, after, from, to int) (at, within int) {
	n, m := acrossStep(after - before)
	sum := 0.0
	for i := from; i < to; i++ {
		sum += e.cost(i, i+after)
	}
	var costs []float64
	for i := from; i+n <= to; i++ {
		across, _ := e.unexplained(i, n, i+before, m)
		total := sum + across
		for t := i; t < i+n; t++ {
			total -= e.cost(t, t+after)
		}
		costs = append(costs, total)
		sum += e.cost(i, i+before) - e.cost(i, i+after)
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
	return from + best, within
}

// acrossStep returns how many changes of the left eye and of the right one a step of the
// slip spans.
func acrossStep(step int) (left, right int) { return 1 + max(-step, 0), 1 + max(step, 0) }

// advantage is how much better the eyes' changes explain each other at one slip than at
// another.
type advantage struct {
	mean, sigmas float64 // mean share of the changes, and that over its standard error
	count        int     // of changes
}

// advantage compares a slip with another one over the left frames from … to−1.
func (e *eyeChanges) advantage(slip, other, from, to int) advantage {
	var list []float64
	for i := max(from, 0); i < min(to, len(e.left)); i++ {
		u, ok := e.at(i, i+slip)
		v, also := e.at(i, i+other)
		if ok && also {
			list = append(list, v-u)
		}
	}
	a := advantage{count: len(list)}
	if a.count < 2 {
		return a
	}
	n := float64(a.count)
	for _, d := range list {
		a.mean += d / n
	}
	// What moves goes on moving: neighbours in time are not independent.
	var variance, neighbours float64
	for i, d := range list {
		variance += stat.Sq(d-a.mean) / (n - 1)
		if i > 0 {
			neighbours += (d - a.mean) * (list[i-1] - a.mean) / (n - 1)
		}
	}
	se := math.Sqrt(max(variance, variance+2*neighbours) / n)
	a.sigmas = a.mean / max(se, minAdvantageSE)
	return a
}

// fraction returns by how much the slip seems to lie beyond a whole one, −0.5 to 0.5, in the
// left frames from … to−1.
func (e *eyeChanges) fraction(slip, from, to int) float64 {
	before, after := e.advantage(slip, slip-1, from, to).mean, e.advantage(slip, slip+1, from, to).mean
	return stat.ParabolaPeak(-before, 0, -after)
}

// minAdvantageSE is the least standard error of an advantage: what a few alike changes may
// hide.
const minAdvantageSE = 0.02
