package history

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
	"nightpair/qc/series"
)

// observation is what one clip tells of a term: its level at the clip's own parallax, and by
// how much it changes with parallax, with the information about both. A clip that tells nothing
// has none of either.
type observation struct {
	level, slope float64
	w            information
	parallax     float64 // in % of the picture's width
	se           float64 // of the level, whatever the slope
	scene        float64 // what tells scenes apart: the clip's parallax, whatever the term; NaN where it has none
}

func (o observation) known() bool { return o.w.level > 0 }

// sane reports whether a clip tells something that can be reckoned with, whatever its record
// holds.
func (o observation) sane() bool {
	const huge = 1e6 // beyond any value of a metric
	return o.known() && math.Abs(o.level) < huge && math.Abs(o.slope) < huge && o.se >= minSE && o.se < huge && !(math.Abs(o.parallax) >= huge)
}

// information is a symmetric matrix over level and slope.
type information struct{ level, both, slope float64 }

// variance returns that of the level, whatever the slope.
func (w information) variance() float64 {
	if w.slope <= 0 {
		return 1 / w.level
	}
	return 1 / (w.level - w.both*w.both/w.slope)
}

// times returns the information by a factor.
func (w information) times(by float64) information {
	return information{by * w.level, by * w.both, by * w.slope}
}

// blurred returns the information that is left when errors of the given variances are added to
// level and slope: W·(1 + V·W)⁻¹, which needs no inverse of W.
func (w information) blurred(level, slope float64) information {
	a, b := 1+level*w.level, level*w.both
	c, d := slope*w.both, 1+slope*w.slope
	det := a*d - b*c
	return information{
		level: (w.level*d - w.both*c) / det,
		both:  (w.both*a - w.level*b) / det,
		slope: (w.slope*a - w.both*b) / det,
	}
}

// observe returns what each clip of a rig tells of a term.
func observe(r Rig, t Term) []observation {
	all := make([]observation, len(r.Clips))
	if t.Rig {
		told := false
		for i, c := range r.Clips {
			all[i] = stateOf(c, t)
			all[i].scene = all[i].parallax
			told = told || all[i].known()
		}
		if told {
			return all
		}
	}
	for i, c := range r.Clips {
		m := series.Median(*c.Record, t.Name)
		if t.Name == ClockDrift {
			m = c.Record.Header.Sync.Clock
		}
		if m.OK() {
			se := max(m.SE, minSE)
			all[i] = observation{level: m.Value, w: information{level: 1 / (se * se)}, se: se, parallax: math.NaN(), scene: scene(c)}
		}
	}
	return all
}

// scene returns the mean parallax of the clip's moments, in % of the picture's width.
func scene(c Clip) float64 {
	sum, n := 0.0, 0.0
	for _, m := range c.Record.Moments {
		if m.Rig != nil && !m.Added {
			sum += m.Rig.Parallax
			n++
		}
	}
	return 100 * sum / (n * c.Record.Header.Aspect())
}

// minSE keeps values that are told to be exact from weighing without bounds.
const minSE = 1e-6 // in the unit of the metric

// stateOf puts the states of a clip's moments together.
func stateOf(c Clip, t Term) observation {
	aspect := c.Record.Header.Aspect()
	if aspect <= 0 {
		return observation{}
	}
	var moments []observation
	var levels, errs []float64
	for _, m := range c.Record.Moments {
		if m.Rig == nil || m.Added {
			continue
		}
		if o, ok := marginal(m.Rig, t, aspect); ok {
			moments = append(moments, o)
			levels, errs = append(levels, o.level), append(errs, o.se)
		}
	}
	if len(moments) == 0 {
		return observation{}
	}
	var o observation
	for _, m := range moments {
		o.parallax += m.parallax / float64(len(moments))
	}
	centre := stat.Quantile(slices.Clone(levels), 0.5)
	scatter := stat.Scatter(levels, centre)
	own := stat.Median(errs)
	var sum normal
	n := 0.0
	for _, m := range moments {
		// A moment that stands apart from the others was misread.
		if math.Abs(m.level-centre) > oddMoment*math.Hypot(scatter, own) {
			continue
		}
		n++
		from := m.parallax - o.parallax
		if !t.paired() {
			from = 0
		}
		sum.add(m, from, 0)
	}
	sum.untold(t.prior(aspect))
	theta, _, ok := sum.solve(weak*t.prior(aspect), 2)
	if !ok {
		return observation{}
	}
	// All moments together tell as much as a mean one does over what its error shrinks by.
	share := stat.Sq(scatter / own)
	shrink := n * (share/n + max(0, 1-share))
	o.level, o.slope = theta[0], theta[1]
	o.w = information{sum.n[0], sum.n[1], sum.n[3]}.times(1 / shrink)
	o.se = math.Sqrt(o.w.variance())
	return o
}

// oddMoment is how many robust standard deviations from the middle a moment is left out. The
// project's own choice.
const oddMoment = 5

// weak is the part of a prior on the slope that only decides where nothing else does.
const weak = 1e-4

// untold takes the slope out of the equations where hardly more is told of it than rounding
// makes.
func (e *normal) untold(prior float64) {
	if e.n[3]-e.n[1]*e.n[1]/e.n[0] < weak*prior {
		e.n[1], e.n[3], e.r[1] = 0, 0, 0
	}
}

// prior returns the information that there is of the slope beforehand.
func (t Term) prior(aspect float64) float64 {
	if !t.paired() {
		return 1
	}
	return 1 / stat.Sq(t.depthScale(aspect)*geometry.PriorSE[t.depth])
}

// marginal returns what a state tells of a term and its slope, whatever the other terms are
// within their priors: the Schur complement of its information. The coefficients of a state
// lean towards the prior, as its information does not; that is undone.
func marginal(s *geometry.State, t Term, aspect float64) (observation, bool) {
	keep := []int{t.term}
	if t.paired() {
		keep = append(keep, t.depth)
	}
	var rest []int
	for i := range geometry.TermCount {
		if !slices.Contains(keep, i) {
			rest = append(rest, i)
		}
	}
	// The right sides of the normal equations of the fit, which had the prior in them.
	var side geometry.Terms
	for i := range side {
		side[i] = s.Terms[i] / stat.Sq(geometry.PriorSE[i])
		for j := range side {
			side[i] += s.Information[i][j] * s.Terms[j]
		}
	}
	// In units of the diagonal all terms compare. A term that neither picture nor prior tells
	// has no part in it.
	unit := make([]float64, len(rest))
	for a, i := range rest {
		if d := s.Information[i][i] + 1/stat.Sq(geometry.PriorSE[i]); d > 0 {
			unit[a] = 1 / math.Sqrt(d)
		}
	}
	block := mat.NewSymDense(len(rest), nil)
	cross := mat.NewDense(len(rest), len(keep)+1, nil)
	for a, i := range rest {
		for b := a + 1; b < len(rest); b++ {
			block.SetSym(a, b, s.Information[i][rest[b]]*unit[a]*unit[b])
		}
		const ridge = 1e-12 // against rounding
		block.SetSym(a, a, 1+ridge)
		for k, j := range keep {
			cross.Set(a, k, unit[a]*s.Information[i][j])
		}
		cross.Set(a, len(keep), unit[a]*side[i])
	}
	var chol mat.Cholesky
	var solved, less mat.Dense
	if !chol.Factorize(block) || chol.SolveTo(&solved, cross) != nil {
		return observation{}, false
	}
	less.Mul(cross.Slice(0, len(rest), 0, len(keep)).T(), &solved)

	level := 1 / t.scale(aspect)
	e := normal{
		n: [6]float64{(s.Information[t.term][t.term] - less.At(0, 0)) * level * level},
		r: [3]float64{(side[t.term] - less.At(0, len(keep))) * level},
	}
	if t.paired() {
		slope := 1 / t.depthScale(aspect)
		e.n[1] = (s.Information[t.term][t.depth] - less.At(0, 1)) * level * slope
		e.n[3] = (s.Information[t.depth][t.depth] - less.At(1, 1)) * slope * slope
		e.r[1] = (side[t.depth] - less.At(1, len(keep))) * slope
		e.untold(t.prior(aspect))
	}
	theta, _, ok := e.solve(weak*t.prior(aspect), 2)
	if !ok {
		return observation{}, false
	}
	o := observation{level: theta[0], slope: theta[1], w: information{e.n[0], e.n[1], e.n[3]}, parallax: 100 * s.Parallax / aspect}
	o.se = math.Sqrt(o.w.variance())
	return o, true
}
