package history

import (
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/stat"
)

// MinClips is how many clips tell a history. The project's own choice.
const MinClips = 6

// Series is the history of one term of one rig.
type Series struct {
	Term
	// Clips are the values of the clips at Parallax, and at the middle toe-in where the term
	// changes with that, with the errors that they have among each
	// other; missing where a clip has none or is odd.
	Clips []stat.Measurement
	// State is what the stretches make of each clip of the rig at Parallax; missing outside of
	// them.
	State []stat.Measurement
	// Slope is what the stretches make of what changes with parallax, for terms that have such
	// a metric; missing where it is not told.
	Slope []stat.Measurement
	// Parallax is the one that all is told at, in % of the picture's width; 0 where the term
	// does not depend on it.
	Parallax float64
	// Odd are the clips that stand apart from those around them.
	Odd       []int
	Stretches []Stretch
	Changes   []Change

	all     []observation // of the clips that count, with what the clips scatter by
	at      []int         // which clips these are
	time    []float64
	sums    []normal
	parts   []part
	prior   float64
	slopeSE float64 // below which the slope counts as told
	centre  float64 // what the levels are counted from, against rounding
	clear   float64 // by how many errors a change has to stand out
	axis    *Change // with toe-in, nil where there is none
}

// Stretch is clips in a row over which a term stayed the same or crept.
type Stretch struct {
	From, To int // the first and the last clip
	Creeps   bool
	Start    stat.Measurement // at Parallax, at the first clip
	End      stat.Measurement // at the last clip
}

// Kind says how a term changed.
type Kind uint8

const (
	Step Kind = iota
	Creep
	WithToeIn // it changes with toe-in, and back with it
)

// Change is a step or a creep of a term.
type Change struct {
	Kind Kind
	// From and To are the last clip before a step and the first after it; else the first and
	// the last clip.
	From, To int
	// Size is by how much it changed; with toe-in, between the 5th and the 95th
	// percentile of the clips' toe-in.
	Size stat.Measurement
	// Before and After are the levels, at the parallax where the change is told.
	Before, After float64
	// OfSlope says that it is one of what changes with parallax and not of the level.
	OfSlope bool
}

// follow finds the history of a term, given what the clips tell of the toe-in.
func follow(r Rig, t Term, toeIn []observation) *Series {
	s := &Series{Term: t, Clips: make([]stat.Measurement, len(r.Clips)), State: make([]stat.Measurement, len(r.Clips)),
		Slope: make([]stat.Measurement, len(r.Clips))}
	observed := observe(r, t)
	s.gather(r, observed, toeIn)
	if len(s.all) < MinClips {
		return s
	}
	s.equations()
	unknowns := 1
	if t.paired() && s.spreads() {
		unknowns = 2
	}
	step, creep, clear := penalties(unknowns, len(s.all))
	s.clear = clear
	s.parts = divide(s.sums, s.prior, step, creep)
	s.join()
	if s.scatterOfScenes() {
		// Now the variance is known from so many scenes only.
		step, creep, s.clear = penalties(unknowns, len(s.scenes())-1)
		s.equations()
		s.parts = divide(s.sums, s.prior, step, creep)
		s.join()
	}
	for round := 0; s.axis != nil && round < turnRounds; round++ {
		s.squareAgain(toeIn)
		s.equations()
		s.parts = divide(s.sums, s.prior, step, creep)
		s.join()
	}
	return s
}

// gather keeps the clips that count, their variances widened by what clips scatter beyond them.
func (s *Series) gather(r Rig, observed, toeIn []observation) {
	var parallaxes []float64
	for i, o := range observed {
		if !o.sane() {
			continue
		}
		s.all, s.at = append(s.all, o), append(s.at, i)
		parallaxes = append(parallaxes, o.parallax)
	}
	if len(s.all) == 0 {
		return
	}
	s.prior = 1
	if s.paired() && !math.IsNaN(parallaxes[0]) {
		s.Parallax = stat.Median(parallaxes)
		aspect := r.Clips[s.at[0]].Record.Header.Aspect()
		s.prior = s.Term.prior(aspect)
		const told = 0.5 // share of the prior's error, as with the metric of a single clip
		s.slopeSE = told / math.Sqrt(s.prior)
	}
	if t := s.Term; t.Rig && t.Name != metrics.Keystone && !math.IsNaN(parallaxes[0]) {
		s.square(toeIn)
	}
	slope := 0.0
	if s.Parallax != 0 || s.slopeSE > 0 {
		slope = commonSlope(s.all)
	}
	values, variances := make([]float64, len(s.all)), make([]float64, len(s.all))
	for i, o := range s.all {
		values[i], variances[i] = o.level-slope*s.from(o), o.se*o.se
	}
	between := excess(secondDifferences(values, variances))
	sigmas := make([]float64, len(values))
	for i, v := range variances {
		sigmas[i] = math.Sqrt(v + between)
	}
	apart := odd(values, sigmas)
	s.centre = stat.Median(slices.Clone(values))
	var slopes, slopeVariances []float64
	for _, o := range s.all {
		if w := o.w.slope - o.w.both*o.w.both/o.w.level; s.slopeSE > 0 && w*s.slopeSE*s.slopeSE > 1 {
			slopes, slopeVariances = append(slopes, o.slope-slope), append(slopeVariances, 1/w)
		}
	}
	betweenSlopes := excess(slopes, slopeVariances)
	kept := 0
	for i, o := range s.all {
		if apart[i] {
			s.Odd = append(s.Odd, s.at[i])
			continue
		}
		o.w = o.w.blurred(between, betweenSlopes)
		o.level -= s.centre
		s.Clips[s.at[i]] = stat.Measured(values[i], sigmas[i])
		s.all[kept], s.at[kept] = o, s.at[i]
		s.time = append(s.time, r.Clips[s.at[i]].Hours)
		kept++
	}
	s.all, s.at = s.all[:kept], s.at[:kept]
	s.share()
	// Time from −1 to 1 keeps the equations well conditioned.
	if kept > 0 {
		first, last := s.time[0], s.time[kept-1]
		for i := range s.time {
			if last > first {
				s.time[i] = 2*(s.time[i]-first)/(last-first) - 1
			} else {
				s.time[i] = 0
			}
		}
	}
}

// from returns a clip's parallax from the one that all is told at; 0 where the term does not
// depend on it.
func (s *Series) from(o observation) float64 {
	if !s.paired() || math.IsNaN(o.parallax) {
		return 0
	}
	return o.parallax - s.Parallax
}

// equations sums the normal equations of the first clips.
func (s *Series) equations() {
	s.sums = make([]normal, len(s.all)+1)
	for i, o := range s.all {
		s.sums[i+1] = s.sums[i]
		s.sums[i+1].add(o, s.from(o), s.time[i])
	}
}

// spreads reports whether clips tell the slope at all.
func (s *Series) spreads() bool {
	whole := &s.sums[len(s.all)]
	_, cov, ok := whole.solve(s.prior, 2)
	return ok && s.slopeSE > 0 && math.Sqrt(cov[1][1]) < s.slopeSE
}

// fit is a part with what it tells.
type fit struct {
	part
	theta vector
	cov   matrix
	ok    bool
}

func (s *Series) fit(p part) fit {
	e := s.sums[p.to].less(&s.sums[p.from])
	f := fit{part: p}
	f.theta, f.cov, f.ok = e.solve(s.prior, p.free())
	return f
}

// jump returns the step from one part to the next, at the parallax of either where it is best
// known, and the levels there. Of a part that crept it is where it ends or begins.
func (s *Series) jump(a, b fit) (size stat.Measurement, before, after float64) {
	time := (s.time[a.to-1] + s.time[b.from]) / 2
	low, high := math.Inf(1), math.Inf(-1)
	for i := a.from; i < b.to; i++ {
		low, high = min(low, s.from(s.all[i])), max(high, s.from(s.all[i]))
	}
	var cov matrix
	for i := range cov {
		for j := range cov {
			cov[i][j] = a.cov[i][j] + b.cov[i][j]
		}
	}
	at := 0.0
	if cov[1][1] > 0 {
		at = -(cov[0][1] + cov[1][2]*time) / cov[1][1]
	}
	by := vector{1, min(max(at, low), high), time}
	from, to := a.theta.dot(by), b.theta.dot(by)
	return stat.Measured(to-from, math.Sqrt(cov.variance(by))), s.centre + from, s.centre + to
}

// stands reports whether a change stands out.
func (s *Series) stands(size stat.Measurement) bool {
	return math.Abs(size.Value) > s.clear*size.SE
}

// join joins parts between which nothing stands out, and tells what there is.
func (s *Series) join() {
	for {
		var fits []fit
		for _, p := range s.parts {
			f := s.fit(p)
			// A creep that rests on too few different scenes is none.
			if p.creeps && (!f.ok || !s.stands(stat.Measured(f.theta[2], math.Sqrt(f.cov[2][2])))) {
				p.creeps = false
				f = s.fit(p)
			}
			fits = append(fits, f)
		}
		weakest, least := -1, 1.0
		for i := 1; i < len(fits); i++ {
			if fits[i-1].creeps || fits[i].creeps {
				continue
			}
			size, _, _ := s.jump(fits[i-1], fits[i])
			ratio := math.Abs(size.Value) / (s.clear * math.Max(size.SE, 1e-300))
			if d, se := fits[i].theta[1]-fits[i-1].theta[1], math.Hypot(math.Sqrt(fits[i].cov[1][1]), math.Sqrt(fits[i-1].cov[1][1])); s.slopeSE > 0 {
				ratio = max(ratio, math.Abs(d)/(s.clear*se))
			}
			if ratio < least {
				weakest, least = i, ratio
			}
		}
		for i, f := range fits {
			s.parts[i] = f.part
		}
		if weakest < 0 {
			s.tell(fits)
			return
		}
		s.parts[weakest-1].to = s.parts[weakest].to
		s.parts = slices.Delete(s.parts, weakest, weakest+1)
	}
}

// tell writes down what the parts tell.
func (s *Series) tell(fits []fit) {
	s.Stretches, s.Changes = nil, nil
	if s.axis != nil {
		s.Changes = append(s.Changes, *s.axis)
	}
	value := func(f fit, i int) stat.Measurement {
		by := vector{1, 0, s.time[i]}
		return stat.Measured(s.centre+f.theta.dot(by), math.Sqrt(f.cov.variance(by)))
	}
	for k, f := range fits {
		if !f.ok {
			continue
		}
		from, to := s.at[f.from], s.at[f.to-1]
		s.Stretches = append(s.Stretches, Stretch{From: from, To: to, Creeps: f.creeps, Start: value(f, f.from), End: value(f, f.to-1)})
		for i := from; i <= to; i++ {
			near, _ := slices.BinarySearch(s.at, i)
			s.State[i] = value(f, min(near, f.to-1))
			if se := math.Sqrt(f.cov[1][1]); s.slopeSE > se {
				s.Slope[i] = stat.Measured(f.theta[1], se)
			} else {
				s.Slope[i] = stat.Missing("all clips show too much the same depth")
			}
		}
		if f.creeps {
			s.creep(fits, k, value)
		}
		if k == 0 || !fits[k-1].ok {
			continue
		}
		before := fits[k-1]
		size, low, high := s.jump(before, f)
		if s.stands(size) {
			s.Changes = append(s.Changes, Change{Kind: Step, From: s.at[before.to-1], To: from, Size: size, Before: low, After: high})
		}
		slope := stat.Measured(f.theta[1]-before.theta[1], math.Hypot(math.Sqrt(f.cov[1][1]), math.Sqrt(before.cov[1][1])))
		if s.slopeSE > 0 && s.stands(slope) {
			s.Changes = append(s.Changes, Change{Kind: Step, From: s.at[before.to-1], To: from, Size: slope,
				Before: before.theta[1], After: f.theta[1], OfSlope: true})
		}
	}
}

// creep tells a stretch that crept. Where it goes on smoothly from a constant stretch, or into
// one, it began or ended at that level: where exactly does not matter then.
func (s *Series) creep(fits []fit, k int, value func(fit, int) stat.Measurement) {
	f := fits[k]
	start, end := value(f, f.from), value(f, f.to-1)
	span := s.time[f.to-1] - s.time[f.from]
	size := stat.Measured(f.theta[2]*span, math.Sqrt(f.cov[2][2])*math.Abs(span))
	smooth := func(a, b fit) bool {
		j, _, _ := s.jump(a, b)
		return !s.stands(j)
	}
	joined := false
	if k > 0 && !fits[k-1].creeps && smooth(fits[k-1], f) {
		start, joined = value(fits[k-1], fits[k-1].to-1), true
	}
	if k+1 < len(fits) && !fits[k+1].creeps && smooth(f, fits[k+1]) {
		end, joined = value(fits[k+1], fits[k+1].from), true
	}
	if joined {
		size = stat.Measured(end.Value-start.Value, math.Hypot(start.SE, end.SE))
	}
	// Two creeps in a row that go on into each other are one.
	if n := len(s.Changes); n > 0 && k > 0 && fits[k-1].creeps && s.Changes[n-1].Kind == Creep &&
		s.Changes[n-1].Size.Value*size.Value > 0 && smooth(fits[k-1], f) {
		c := &s.Changes[n-1]
		c.To, c.After = s.at[f.to-1], end.Value
		c.Size = stat.Measured(c.Size.Value+size.Value, math.Hypot(c.Size.SE, size.SE))
		return
	}
	s.Changes = append(s.Changes, Change{Kind: Creep, From: s.at[f.from], To: s.at[f.to-1], Size: size, Before: start.Value, After: end.Value})
}
