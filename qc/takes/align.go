package takes

import (
	"math"
)

const (
	// pressed is the mean of how many seconds two record buttons are pressed apart.
	pressed = 7.0
	// gap is the probability that the next take in the order is one that only the left
	// camera has, or only the right one. It is large, so that order alone makes no pair sure.
	gap = 0.15
	// step is the probability that the clocks' offset changes from one take to the next.
	step = 1e-3
	// unknown is the probability that no clock tells.
	unknown = 0.1
	// blur is the standard error in seconds of how far apart takes begin by the clocks.
	blur = 2.0
	// span is the least length of a shooting day in seconds that a coincidence of takes is
	// held against.
	span = 12 * 3600
	// lowest is the least logarithm of a ratio of likelihoods: nothing is impossible.
	lowest = -30.0
)

// Sure is how probable a pair has to be.
const Sure = 0.99

// worth is the least probability of a candidate that is worth telling.
const worth = 0.02

// Choice is a right take that may belong to a left one.
type Choice struct {
	Right int
	Sure  float64 // probability
	Clock Clock   // by which they overlap; NoClock where none tells
	Apart float64 // seconds by which the right take begins later, by that clock
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
	m.background()
	const fits = 2
	for range fits {
		pairs := m.posterior()
		for k, o := range m.offsets {
			if o.clock != NoClock {
				m.offsets[k] = o.fitted(pairs[k], left, right)
			}
		}
	}
	return m.choices(m.posterior())
}

// model is an alignment under way.
type model struct {
	left, right []Take
	shown       func(left, right int) float64
	offsets     []offset // of the clocks, with one that says that none tells
	// lengths is the density of the right takes' lengths, as far as a length of the day
	// tells, in 1/seconds.
	lengths []float64
}

// background finds how common the right takes' lengths are.
func (m *model) background() {
	m.lengths = make([]float64, len(m.right))
	for j, r := range m.right {
		n := 0
		for _, l := range m.left {
			if l.Length > 0 {
				m.lengths[j] += difference(r.Length - l.Length)
				n++
			}
		}
		if n > 0 {
			// A length that nothing else has is not therefore impossible.
			const broad = 600.0 // seconds
			m.lengths[j] = (m.lengths[j] + 1/broad) / float64(n+1)
		}
	}
}

// laplace is the density of how many seconds apart one button is pressed.
func laplace(x float64) float64 { return math.Exp(-math.Abs(x)/pressed) / (2 * pressed) }

// difference is the density of the difference of two of those.
func difference(x float64) float64 {
	x = math.Abs(x) / pressed
	return (1 + x) * math.Exp(-x) / (4 * pressed)
}

// ratio returns the logarithm of how much likelier two takes are as a pair than by chance,
// under an offset of the clocks, without what they show.
func (m *model) ratio(o offset, i, j int) float64 {
	l, r := m.left[i], m.right[j]
	bothLong := l.Length > 0 && r.Length > 0
	apart, ok := o.apart(l, r)
	switch {
	case !ok && !bothLong:
		return 0
	case !ok:
		return max(math.Log(difference(r.Length-l.Length)/m.lengths[j]), lowest)
	}
	ratio := math.Log(laplace(apart) * span)
	if bothLong {
		end := apart + r.Length - l.Length
		ratio += math.Log(laplace(end) / m.lengths[j])
		overlap := min(l.Length, apart+r.Length) - max(0, apart)
		ratio += math.Log(0.5 * math.Erfc(-overlap/(blur*math.Sqrt2)))
	}
	return max(ratio, lowest)
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

var never = math.Inf(-1)

// states of a cell: the last take was a pair, one of the left only, one of the right only.
// Of takes that only one has, those of the left come first, so that each alignment counts
// once.
const (
	paired = iota
	leftOnly
	rightOnly
	states
)

// posterior returns the pairs that are worth anything, by the offset under which they are
// one, with their probabilities: the forward-backward algorithm in logarithms.
func (m *model) posterior() [][]weighed {
	n, k, s := len(m.left), len(m.right), len(m.offsets)
	stay, pair, single := math.Log(1-step), math.Log(1-2*gap), math.Log(gap)
	change := make([]float64, s)
	all := 0.0
	for _, o := range m.offsets {
		all += o.prior
	}
	for c, o := range m.offsets {
		change[c] = math.Log(o.prior / all)
	}
	cell := s * states
	row := (k + 1) * cell
	forward := make([]float64, (n+1)*row)
	for i := range forward {
		forward[i] = never
	}
	at := func(i, j int) []float64 { return forward[i*row+j*cell:][:cell] }
	sum := func(v []float64) float64 { return logSum(logSum(v[paired], v[leftOnly]), v[rightOnly]) }
	for c := range s {
		at(0, 0)[c*states+paired] = change[c]
	}
	entered := make([]float64, s)
	logStep := math.Log(step)
	for i := 0; i <= n; i++ {
		for j := 0; j <= k; j++ {
			here := at(i, j)
			if i > 0 && j > 0 {
				before, any := at(i-1, j-1), never
				for c := range s {
					entered[c] = sum(before[c*states:])
					any = logSum(any, entered[c])
				}
				shown := m.shown(i-1, j-1)
				for c, o := range m.offsets {
					from := logSum(entered[c]+stay, any+logStep+change[c])
					here[c*states+paired] = from + pair + m.ratio(o, i-1, j-1) + shown
				}
			}
			for c := range s {
				v := here[c*states:]
				if i > 0 {
					b := at(i-1, j)[c*states:]
					v[leftOnly] = logSum(b[paired], b[leftOnly]) + single
				}
				if j > 0 {
					v[rightOnly] = sum(at(i, j-1)[c*states:]) + single
				}
			}
		}
	}
	total := never
	for c := range s {
		total = logSum(total, sum(at(n, k)[c*states:]))
	}

	// The backward sums need two rows only.
	found := make([][]weighed, s)
	below, here := make([]float64, row), make([]float64, row)
	for i := n; i >= 0; i-- {
		for j := k; j >= 0; j-- {
			v := here[j*cell:][:cell]
			onward := never // through a pair after a change of the offset
			var through [64]float64
			if i < n && j < k {
				next := below[(j+1)*cell:][:cell]
				shown := m.shown(i, j)
				for c, o := range m.offsets {
					through[c] = next[c*states+paired] + pair + m.ratio(o, i, j) + shown
					onward = logSum(onward, through[c]+change[c])
				}
			}
			for c := range s {
				through := through[c]
				end := never
				if i == n && j == k {
					end = 0
				}
				on := end
				if i < n && j < k {
					on = logSum(on, logSum(through+stay, onward+logStep))
				}
				right := on
				if j < k {
					right = logSum(right, here[(j+1)*cell+c*states+rightOnly]+single)
				}
				left := right
				if i < n {
					left = logSum(left, below[j*cell+c*states+leftOnly]+single)
				}
				v[c*states+paired], v[c*states+leftOnly], v[c*states+rightOnly] = left, left, right
				if i > 0 && j > 0 {
					p := math.Exp(at(i, j)[c*states+paired] + left - total)
					if p > 1e-4 {
						found[c] = append(found[c], weighed{i - 1, j - 1, p})
					}
				}
			}
		}
		below, here = here, below
	}
	return found
}

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
	for i := range m.left {
		for j := range m.right {
			p := sure[key{i, j}]
			if p < worth {
				continue
			}
			c := Choice{Right: j, Sure: min(p, 1)}
			if apart, ok := by[key{i, j}].apart(m.left[i], m.right[j]); ok {
				c.Clock, c.Apart = by[key{i, j}].clock, apart
			}
			at := len(a.Choices[i])
			for at > 0 && a.Choices[i][at-1].Sure < c.Sure {
				at--
			}
			a.Choices[i] = append(a.Choices[i], Choice{})
			copy(a.Choices[i][at+1:], a.Choices[i][at:])
			a.Choices[i][at] = c
		}
	}
	return a
}
