package takes

import (
	"cmp"
	"math"
	"slices"
)

const (
	// pressed is the mean of how many seconds two record buttons are pressed apart by hand.
	pressed = 7.0
	// gap is the probability that the next take in the order is one that only the left
	// camera has, or only the right one, and endGap the same before the first pair and after
	// the last, as where one camera's card begins earlier. They are large, so that order
	// alone makes no pair sure.
	gap, endGap = 0.2, 0.5
	// step is the probability that the clocks' offset changes from one take to the next.
	step = 1e-3
	// unknown is the probability that no clock tells.
	unknown = 0.1
	// blur is the standard error in seconds of how far apart takes begin by the clocks.
	blur = 2.0
	// coincide is how probable it is that both cameras recorded at once and yet not the same.
	coincide = 2e-3
	// beam is by how much the logarithm of an alignment's likelihood may be behind that of
	// the best so far.
	beam = 100.0
	// lowest is the least logarithm of a ratio of likelihoods: nothing is impossible.
	lowest = -30.0
)

// closer are the means of how many seconds the buttons are apart where they are pressed at a
// signal, and where one of them starts both cameras, to the second of a creation time.
var closer = []float64{2, 0.7}

// Sure is how probable a pair has to be.
const Sure = 0.99

// worth is the least probability of a candidate that is worth looking at.
const worth = 1e-3

// Choice is a right take that may belong to a left one.
type Choice struct {
	Right int
	Sure  float64 // probability
	Clock Clock   // by which they overlap; NoClock where none tells
	Apart float64 // seconds by which the right take begins later, by that clock
	// Clocks is by how many seconds the right camera's clock is ahead then.
	Clocks float64
}

// Alignment is what was found of a day.
type Alignment struct {
	// Choices lists for each left take the right takes that are worth telling, the
	// likeliest first.
	Choices [][]Choice
}

// Pair returns the right take that surely belongs to a left one, or false.
func (a Alignment) Pair(left int) (Choice, bool) {
	if c := a.Choices[left]; len(c) > 0 && c[0].Sure >= Sure {
		return c[0], true
	}
	return Choice{}, false
}

// weighed is a pair with its probability.
type weighed struct {
	left, right int
	weight      float64
}

// Align aligns the takes of two cameras, both in shooting order. Shown returns the logarithm
// of the evidence in what two takes show, 0 where that was not looked at; nil for none.
func Align(left, right []Take, shown func(left, right int) float64) Alignment {
	left, right = withoutCounters(left), withoutCounters(right)
	m := model{left: left, right: right, shown: shown}
	if m.shown == nil {
		m.shown = func(int, int) float64 { return 0 }
	}
	m.offsets = append(offsets(Timecode, left, right), offsets(Created, left, right)...)
	m.offsets = append(m.offsets, offset{prior: unknown})
	m.lengths = map[float64][]float64{pressed: m.commonness(pressed)}
	for _, mean := range closer {
		m.lengths[mean] = m.commonness(mean)
	}
	const fits = 2
	for range fits {
		pairs := m.posterior()
		var held []offset
		for k, o := range m.offsets {
			if o.clock == NoClock {
				held = append(held, o)
			} else if o, ok := o.fitted(pairs[k], left, right); ok {
				held = append(held, o)
			}
		}
		m.offsets = held
	}
	return m.choices(m.posterior())
}

// model is an alignment under way.
type model struct {
	left, right []Take
	shown       func(left, right int) float64
	offsets     []offset // of the clocks, with one that says that none tells
	// lengths are the densities of the right takes' lengths in 1/seconds, as far as lengths
	// tell that are equal to within what buttons leave that are pressed so many seconds apart.
	lengths map[float64][]float64
}

// commonness returns how common the right takes' lengths are, buttons being pressed so many
// seconds apart.
func (m *model) commonness(mean float64) []float64 {
	lengths := make([]float64, len(m.right))
	for j, r := range m.right {
		n := 0
		for _, l := range m.left {
			if l.Length > 0 {
				lengths[j] += difference(r.Length-l.Length, mean)
				n++
			}
		}
		// A length that nothing else has is not therefore impossible.
		const broad = 600.0 // seconds
		lengths[j] = (lengths[j] + 1/broad) / float64(n+1)
	}
	return lengths
}

// laplace is the density of how many seconds apart one button is pressed, by its mean.
func laplace(x, mean float64) float64 { return math.Exp(-math.Abs(x)/mean) / (2 * mean) }

// difference is the density of the difference of two of those.
func difference(x, mean float64) float64 {
	x = math.Abs(x) / mean
	return (1 + x) * math.Exp(-x) / (4 * mean)
}

// ratio returns the logarithm of how much likelier two takes are as a pair than by chance,
// under an offset of the clocks, without what they show. By chance, the right take begins
// anywhere between two takes.
func (m *model) ratio(o offset, i, j int) float64 {
	l, r := m.left[i], m.right[j]
	bothLong := l.Length > 0 && r.Length > 0
	apart, ok := o.apart(l, r)
	switch {
	case !ok && !bothLong:
		return 0
	case !ok:
		return max(math.Log(difference(r.Length-l.Length, pressed)/m.lengths[pressed][j]), lowest)
	}
	ratio := math.Log(laplace(apart, o.pressed) * max(o.pace, 2*o.pressed))
	if bothLong {
		// Either button is pressed for itself, or whoever is late is so twice.
		longer := r.Length - l.Length
		common := m.lengths[o.pressed][j]
		ratio += math.Log((laplace(apart+longer, o.pressed) + laplace(longer, o.pressed)) / 2 / common)
		ratio += math.Log(overlapping(l, r, apart))
	}
	return max(ratio, lowest)
}

// overlapping returns how probable it is that two takes overlap.
func overlapping(l, r Take, apart float64) float64 {
	overlap := min(l.Length, apart+r.Length) - max(0, apart)
	return 0.5 * math.Erfc(-overlap/(blur*math.Sqrt2))
}

// both returns the logarithm of how probable it is that left takes up to i and the right one
// from j on are none of a pair, as far as they were recorded at once.
func (m *model) both(o offset, i, j int) float64 {
	if j == len(m.right) {
		return 0
	}
	const lookBack = 3 // left takes in a row without a mate are fewer
	together := 0.0
	for k := max(0, i-lookBack); k < i; k++ {
		l, r := m.left[k], m.right[j]
		if apart, ok := o.apart(l, r); ok && l.Length > 0 && r.Length > 0 {
			together = max(together, overlapping(l, r, apart))
		}
	}
	return math.Log(1 - together*(1-coincide))
}

// logSum returns the logarithm of the sum of what two logarithms stand for.
func logSum(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if b < a-40 || math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// states of a cell: the last take was a pair, one of the left only, one of the right only.
// Of takes that only one has, those of the left come first, so that each alignment counts
// once.
const (
	paired = iota
	leftOnly
	rightOnly
	states
)

// row holds the logarithms of the forward or backward sums of the right takes from on, up to
// which there are any; each cell has the states of each offset.
type row struct {
	from  int
	cells [][]float64
}

func (r row) at(j int) []float64 {
	if j < r.from || j >= r.from+len(r.cells) {
		return nil
	}
	return r.cells[j-r.from]
}

// single returns the logarithm of the probability that the take after the given ones is one
// that a camera has alone.
func (m *model) single(i, j int) float64 {
	if i == 0 || j == 0 || i == len(m.left) || j == len(m.right) {
		return logEndGap
	}
	return logGap
}

var (
	never     = math.Inf(-1)
	logGap    = math.Log(gap)
	logEndGap = math.Log(endGap)
	logPair   = math.Log(1 - 2*gap)
	logStay   = math.Log(1 - step)
	logStep   = math.Log(step)
)

// priors returns the logarithms of how probable the offsets are.
func (m *model) priors() []float64 {
	all := 0.0
	for _, o := range m.offsets {
		all += o.prior
	}
	out := make([]float64, len(m.offsets))
	for c, o := range m.offsets {
		out[c] = math.Log(o.prior / all)
	}
	return out
}

// last returns the sum over the states of one offset, those of a take alone weighed by what
// they are worth.
func last(v []float64, c int, alone float64) float64 {
	v = v[c*states:]
	return logSum(v[paired], logSum(v[leftOnly], v[rightOnly])+alone)
}

// forward returns the forward sums, a row for each number of left takes.
func (m *model) forward() []row {
	n, k, s := len(m.left), len(m.right), len(m.offsets)
	priors := m.priors()
	rows := make([]row, n+1)
	entered := make([]float64, s)
	for i := range rows {
		var above row
		if i > 0 {
			above = rows[i-1]
		}
		r := row{from: above.from}
		best := never
		var peaks []float64
		for j := r.from; j <= k; j++ {
			here := make([]float64, s*states)
			for c := range here {
				here[c] = never
			}
			if i == 0 && j == 0 {
				for c := range s {
					here[c*states+paired] = priors[c]
				}
			}
			if before := above.at(j - 1); i > 0 && j > 0 && before != nil {
				any := never
				for c := range s {
					entered[c] = last(before, c, 0)
					any = logSum(any, entered[c])
				}
				shown := m.shown(i-1, j-1)
				for c, o := range m.offsets {
					from := logSum(entered[c]+logStay, any+logStep+priors[c])
					here[c*states+paired] = from + logPair + m.ratio(o, i-1, j-1) + shown
				}
			}
			up, beside := above.at(j), r.at(j-1)
			peak := never
			for c := range s {
				v := here[c*states:][:states]
				if up != nil {
					b := up[c*states:]
					v[leftOnly] = logSum(b[paired], b[leftOnly]) + m.single(i-1, j)
				}
				if beside != nil {
					v[rightOnly] = last(beside, c, m.both(m.offsets[c], i, j-1)) + m.single(i, j-1)
				}
				peak = max(peak, v[paired], v[leftOnly], v[rightOnly])
			}
			best = max(best, peak)
			if peak < best-beam && above.at(j) == nil && above.at(j-1) == nil {
				break
			}
			r.cells, peaks = append(r.cells, here), append(peaks, peak)
		}
		for len(peaks) > 0 && peaks[0] < best-beam {
			r.from, r.cells, peaks = r.from+1, r.cells[1:], peaks[1:]
		}
		for len(peaks) > 0 && peaks[len(peaks)-1] < best-beam {
			r.cells, peaks = r.cells[:len(peaks)-1], peaks[:len(peaks)-1]
		}
		rows[i] = r
	}
	return rows
}

// posterior returns the pairs that are worth anything, by the offset under which they are
// one, with their probabilities: the forward-backward algorithm in logarithms.
func (m *model) posterior() [][]weighed {
	n, k, s := len(m.left), len(m.right), len(m.offsets)
	found := make([][]weighed, s)
	rows := m.forward()
	end := rows[n].at(k)
	if end == nil {
		return found // the days have nothing in common
	}
	total := never
	for c := range s {
		total = logSum(total, last(end, c, 0))
	}
	priors := m.priors()
	through := make([]float64, s)
	var below row
	for i := n; i >= 0; i-- {
		forward := rows[i]
		here := row{from: forward.from, cells: make([][]float64, len(forward.cells))}
		for j := forward.from + len(forward.cells) - 1; j >= forward.from; j-- {
			v := make([]float64, s*states)
			here.cells[j-here.from] = v
			next, beside, down := below.at(j+1), here.at(j+1), below.at(j)
			onward := never // through a pair after a change of the offset
			if i < n && j < k && next != nil {
				shown := m.shown(i, j)
				for c, o := range m.offsets {
					through[c] = next[c*states+paired] + logPair + m.ratio(o, i, j) + shown
					onward = logSum(onward, through[c]+priors[c])
				}
			}
			for c := range s {
				on := never
				if i == n && j == k {
					on = 0
				}
				if i < n && j < k && next != nil {
					on = logSum(on, logSum(through[c]+logStay, onward+logStep))
				}
				right, alone, left := on, on, never
				if j < k && beside != nil {
					next := beside[c*states+rightOnly] + m.single(i, j)
					right = logSum(on, next)
					alone = logSum(on, next+m.both(m.offsets[c], i, j))
				}
				if i < n && down != nil {
					left = down[c*states+leftOnly] + m.single(i, j)
				}
				v[c*states+paired], v[c*states+leftOnly], v[c*states+rightOnly] = logSum(right, left), logSum(alone, left), alone
				p := math.Exp(forward.at(j)[c*states+paired] + v[c*states+paired] - total)
				if i > 0 && j > 0 && p > negligible {
					found[c] = append(found[c], weighed{i - 1, j - 1, p})
				}
			}
		}
		below = here
	}
	return found
}

// negligible is the probability below which a pair is not followed.
const negligible = 1e-4

// choices puts the pairs of all offsets together.
func (m *model) choices(found [][]weighed) Alignment {
	a := Alignment{Choices: make([][]Choice, len(m.left))}
	type key struct{ left, right int }
	sure, best, by := map[key]float64{}, map[key]float64{}, map[key]offset{}
	for c, pairs := range found {
		for _, p := range pairs {
			k := key{p.left, p.right}
			sure[k] += p.weight
			if p.weight > best[k] {
				best[k], by[k] = p.weight, m.offsets[c]
			}
		}
	}
	for k, p := range sure {
		if p < worth {
			continue
		}
		c := Choice{Right: k.right, Sure: min(p, 1)}
		if apart, ok := by[k].apart(m.left[k.left], m.right[k.right]); ok {
			o := by[k]
			unset := offset{clock: o.clock}
			raw, _ := unset.apart(m.left[k.left], m.right[k.right])
			c.Clock, c.Apart, c.Clocks = o.clock, apart, raw-apart
		}
		a.Choices[k.left] = append(a.Choices[k.left], c)
	}
	for _, list := range a.Choices {
		slices.SortFunc(list, func(a, b Choice) int { return cmp.Or(cmp.Compare(b.Sure, a.Sure), cmp.Compare(a.Right, b.Right)) })
	}
	return a
}
