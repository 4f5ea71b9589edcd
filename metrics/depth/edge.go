package depth

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

const (
	// minInFront is how far in front of the screen a thing must stand for a violation, in % of
	// the picture width. It is 10 arcmin at three picture heights, twice what a floor or a
	// wall that starts at the screen comes to. The project's own choice.
	minInFront = 0.5
	// rimRun is how many neighbouring places that seem to end before the edge are not wrong
	// about it: twice as many as see the same pixels.
	rimRun = 4
	// minViolation is the smallest stretch, as a share of the edge. violationGap is the
	// largest gap without parallax within a stretch, likewise.
	minViolation = 0.03
	violationGap = 0.05
	// minEdgeCoverage is the smallest share of an edge that must have a parallax.
	minEdgeCoverage = 0.25
)

// edge is what stands along an edge of the picture, by quarter pixels along it.
type edge struct {
	parallax   []float64 // % of the picture width; NaN where it is not known
	endsBefore []bool    // where a thing in front seems to end before the edge
	known      bool      // whether enough of the edge has a parallax
	violations []stretch
}

// stretch is a part of an edge: the quarter pixels from from up to, but without, to.
type stretch struct {
	from, to int
	nearest  float64 // parallax of the nearest thing, % of the picture width
}

// findStretches finds the violations by the parallax along the edge.
func (e *edge) findStretches() {
	n := float64(len(e.parallax))
	measured := 0
	var candidates []stretch
	for i, p := range e.parallax {
		if p != p {
			continue
		}
		measured++
		if p > -minInFront {
			continue
		}
		// Between two places of one stretch there may only be unknown parallax.
		if k := len(candidates) - 1; k >= 0 && float64(i-candidates[k].to) <= violationGap*n && e.unknownBetween(candidates[k].to, i) {
			candidates[k].to = i + 1
		} else {
			candidates = append(candidates, stretch{from: i, to: i + 1})
		}
	}
	e.known = float64(measured) >= minEdgeCoverage*n
	var pieces []stretch
	for _, s := range candidates {
		pieces = e.split(pieces, s)
	}
	for _, s := range pieces {
		if float64(s.to-s.from) < minViolation*n {
			continue
		}
		var all []float64
		for _, p := range e.parallax[s.from:s.to] {
			if p <= -minInFront {
				all = append(all, p)
			}
		}
		if len(all) == 0 {
			continue // without any parallax in front
		}
		// A mask has to hide nearly all of it, but single places may be wrong.
		s.nearest = stat.Quantile(all, 0.1)
		e.violations = append(e.violations, s)
	}
}

// split appends to dst the parts of a stretch that do not end before the edge. Places that seem
// to end before it are taken off both ends, together with single other ones among them,
// and out of the middle where rimRun of them follow each other: fewer may be wrong.
func (e *edge) split(dst []stretch, s stretch) []stretch {
	for s.from < s.to && (e.endsBefore[s.from] || s.from+1 < s.to && e.endsBefore[s.from+1]) {
		s.from++
	}
	for s.to > s.from && (e.endsBefore[s.to-1] || s.to-2 >= s.from && e.endsBefore[s.to-2]) {
		s.to--
	}
	run := 0
	for i := s.from; i < s.to; i++ {
		if run++; !e.endsBefore[i] {
			run = 0
		}
		if run == rimRun {
			dst = e.split(dst, stretch{from: s.from, to: i - rimRun + 1})
			return e.split(dst, stretch{from: i + 1, to: s.to})
		}
	}
	if s.from < s.to {
		dst = append(dst, s)
	}
	return dst
}

// unknownBetween reports whether no quarter pixel from from up to to has a parallax.
func (e *edge) unknownBetween(from, to int) bool {
	return !slices.ContainsFunc(e.parallax[from:to], func(p float64) bool { return p == p })
}

// share returns how much of the edge is violated, 0 to 1.
func (e *edge) share() float64 {
	sum := 0
	for _, s := range e.violations {
		sum += s.to - s.from
	}
	return float64(sum) / float64(len(e.parallax))
}

// se returns the standard error of the share. A thing seems larger than it is by part of the
// window of matching, which adds up over the stretches. Where unknown parallax adjoins a
// stretch, it may go on. One stretch just too short or too near to the screen may not
// have been found.
func (e *edge) se() float64 {
	const end = 2.0 // quarter pixels
	n := len(e.parallax)
	v := stat.Sq(end * float64(1+len(e.violations)))
	for _, s := range e.violations {
		above, below := 0, 0
		for i := s.from - 1; i >= 0 && e.parallax[i] != e.parallax[i]; i-- {
			above++
		}
		for i := s.to; i < n && e.parallax[i] != e.parallax[i]; i++ {
			below++
		}
		// The variance of an end that is equally likely anywhere in the unknown part.
		v += stat.Sq(float64(above))/12 + stat.Sq(float64(below))/12
	}
	return math.Sqrt(v) / float64(n)
}
