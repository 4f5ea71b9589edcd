package history

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// What a term changes by with toe-in is told when so many changes of toe-in from one clip to the
// next stand out by so many of their errors, and it stands out by so many of its own, also
// without the largest of them: a knock may come with one change of toe-in, not with many. The
// project's own choice.
const (
	minTurns    = 5
	clearTurn   = 3
	clearAxis   = 4
	withoutOne  = 3
	overlapping = 1.5 // differences of values in a row share errors, which widens the variance
)

// withToeIn finds what a term changes by for each unit of toe-in, by robust regression over the
// differences of clips in a row, which steps disturb only where they are. It returns 0 where
// nothing stands out.
func withToeIn(all, toeIn []observation, paired bool, prior float64) stat.Measurement {
	columns := 1
	if paired {
		columns = 2
	}
	type difference struct{ level, parallax, turn, weight float64 }
	var rows []difference
	turns, largest := 0, 0
	for i := 1; i < len(all); i++ {
		d := difference{level: all[i].level - all[i-1].level, parallax: all[i].parallax - all[i-1].parallax,
			weight: 1 / (all[i].se*all[i].se + all[i-1].se*all[i-1].se)}
		// A change that does not stand out would only dilute the others.
		if turn := toeIn[i].level - toeIn[i-1].level; math.Abs(turn) > clearTurn*math.Hypot(toeIn[i].se, toeIn[i-1].se) {
			d.turn = turn
			turns++
		}
		rows = append(rows, d)
		if math.Abs(d.turn) > math.Abs(rows[largest].turn) {
			largest = len(rows) - 1
		}
	}
	none := stat.Measured(0, 0)
	if turns < minTurns {
		return none
	}
	fit := func(rows []difference) (per stat.Measurement, ok bool) {
		r := stat.Regression{Columns: columns, Floor: 1, Prior: []float64{math.Inf(1)}}
		if paired {
			r.Prior = append(r.Prior, 1/math.Sqrt(prior))
		}
		for _, d := range rows {
			r.Y, r.Base = append(r.Y, d.level), append(r.Base, d.weight)
			r.Rows = append(r.Rows, d.turn)
			if paired {
				r.Rows = append(r.Rows, d.parallax)
			}
		}
		if !r.Fit(false) {
			return none, false
		}
		return stat.Measured(r.Coef[0], r.Scale*math.Sqrt(overlapping*r.Inverse().At(0, 0))), true
	}
	per, ok := fit(rows)
	if !ok || math.Abs(per.Value) < clearAxis*per.SE {
		return none
	}
	less, ok := fit(slices.Delete(slices.Clone(rows), largest, largest+1))
	if !ok || less.Value*per.Value < 0 || math.Abs(less.Value) < withoutOne*less.SE {
		return none
	}
	return per
}

// square takes out of the levels what they change by with toe-in, which is no change of the
// rig, and tells it.
func (s *Series) square(toeIn []observation) {
	if len(s.all) < MinClips || len(toeIn) == 0 {
		return
	}
	var of []observation
	for _, i := range s.at {
		if !toeIn[i].sane() {
			return
		}
		of = append(of, toeIn[i])
	}
	per := withToeIn(s.all, of, s.paired(), s.prior)
	if per.Value == 0 {
		return
	}
	s.turn(of, per)
}

// turn takes what the levels change by with toe-in, in addition to what was taken out before.
func (s *Series) turn(toeIn []observation, per stat.Measurement) {
	levels := make([]float64, len(toeIn))
	for i, o := range toeIn {
		levels[i] = o.level
	}
	slices.Sort(levels)
	middle := stat.Quantile(levels, 0.5)
	span := stat.Quantile(levels, 0.95) - stat.Quantile(levels, 0.05)
	first := s.axis == nil
	if first {
		s.axis = &Change{Kind: WithToeIn, From: s.at[0], To: s.at[len(s.at)-1]}
	}
	for i := range s.all {
		o := &s.all[i]
		o.level -= per.Value * (toeIn[i].level - middle)
		if first {
			more := stat.Sq(per.Value * toeIn[i].se)
			o.w = o.w.blurred(more, 0)
			o.se = math.Sqrt(o.se*o.se + more)
		}
	}
	s.axis.Size = stat.Measured(s.axis.Size.Value+per.Value*span, per.SE*span)
}

// turnRounds is how often what goes with toe-in and the stretches are found in turns.
const turnRounds = 3

// squareAgain finds what is left that goes with toe-in within the stretches, which know more of
// it than the differences of clips in a row.
func (s *Series) squareAgain(toeIn []observation) {
	var of []observation
	for _, i := range s.at {
		of = append(of, toeIn[i])
	}
	var sum, with, squares float64
	for _, p := range s.parts {
		f := s.fit(p)
		if !f.ok {
			return
		}
		mean, weight := 0.0, 0.0
		for i := p.from; i < p.to; i++ {
			mean += s.all[i].w.level * of[i].level
			weight += s.all[i].w.level
		}
		mean /= weight
		for i := p.from; i < p.to; i++ {
			w, k := s.all[i].w.level, of[i].level-mean
			rest := s.all[i].level - f.theta.dot(vector{1, s.from(s.all[i]), s.time[i]})
			with += w * k * rest
			sum += w * (k*k - stat.Sq(of[i].se)) // without what its own errors add
			squares += w * rest * rest
		}
	}
	if sum <= 0 {
		return
	}
	scatter := max(1, squares/float64(len(s.all)))
	s.turn(of, stat.Measured(with/sum, math.Sqrt(scatter/sum)))
}
