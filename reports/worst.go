package reports

import (
	"cmp"
	"math"

	"nightpair/qc"
)

// severity orders judgements: the lower, the worse. What could not be measured
// comes before a warning, since nobody knows how bad it is.
func severity(s qc.Status) int {
	switch s {
	case qc.Failed:
		return 0
	case qc.Unmeasured:
		return 1
	case qc.Warned:
		return 2
	default:
		return 3
	}
}

// worseFinding sorts findings worst first: by judgement, then by how far out
// of bounds they are.
func worseFinding(p, q qc.Finding) int {
	return cmp.Or(
		cmp.Compare(severity(p.Status), severity(q.Status)),
		cmp.Compare(excess(q), excess(p)),
	)
}

// worseClip sorts clips worst first: by verdict, then by their worst finding,
// then by how many findings they have.
func worseClip(p, q *clip) int {
	return cmp.Or(
		cmp.Compare(severity(p.verdict.Status), severity(q.verdict.Status)),
		cmp.Compare(worstExcess(q), worstExcess(p)),
		cmp.Compare(len(q.verdict.Findings), len(p.verdict.Findings)),
	)
}

func worstExcess(c *clip) float64 {
	worst := math.Inf(-1)
	for _, f := range c.verdict.Findings {
		if f.Status == c.verdict.Status {
			worst = max(worst, excess(f))
		}
	}
	return worst
}

// exceeded gives the bound that a finding is about: the one that its value
// left or is nearest to. A finding without a value has one only where the
// range has just one, or is symmetric. A range without bounds has none.
func exceeded(f qc.Finding) (bound float64, ok bool) {
	l := f.Limit
	if f.Status == qc.Unmeasured && !open(l.Low) && !open(l.High) {
		return l.High, l.Low == -l.High
	}
	bound = l.Bound(f.Value)
	return bound, !open(bound)
}

// open reports whether a bound is none.
func open(bound float64) bool { return math.IsInf(bound, 0) }

// excess says how far a finding is out of bounds, in parts of the bound, or in
// the value's own unit where the bound is zero; negative inside.
func excess(f qc.Finding) float64 {
	bound, ok := exceeded(f)
	if !ok || f.Status == qc.Unmeasured {
		return 0
	}
	out := max(f.Limit.Low-f.Value, f.Value-f.Limit.High)
	if bound == 0 {
		return out
	}
	return out / math.Abs(bound)
}
