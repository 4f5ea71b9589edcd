package judge

import (
	"fmt"
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/number"
	"nightpair/qc/record"
)

// Clips holds records against limits, which must be those for a screen (see
// Limits.On), and returns a verdict for each record, in their order. It looks
// at nothing else. Limits on statistics of the day are for OverDay.
//
// A clip is judged in three steps: its statistics are held against the limits, what
// another finding says as well is folded into that, and what remains is put into words.
//
// A limit to fail is exceeded when the value is beyond it by more than two
// standard errors; nearer to it on either side nobody can tell, which is a
// warning, or where that could be said of the whole range to keep, no measurement.
// A limit to warn is exceeded by more than two standard errors only.
// A metric that could not be measured is never passed: unless it is one that
// clean clips often do not show, the clip is unmeasured.
func Clips(records []record.Record, limits []Limit) []Verdict {
	for _, l := range limits {
		if l.Unit != MetricUnit {
			panic(fmt.Sprintf("judge: a limit on %s in %s was judged without a screen", l.Metric, l.Unit))
		}
	}
	verdicts := make([]Verdict, len(records))
	for i, r := range records {
		verdicts[i] = judgedClip{r, limits}.verdict()
	}
	return verdicts
}

// judgedClip is a clip with the limits that it is judged by.
type judgedClip struct {
	record record.Record
	limits []Limit
}

func (c judgedClip) verdict() Verdict {
	name := c.record.Header.Clip.Name
	if reason := c.record.Failure(); reason != "" {
		return Verdict{Clip: name, Status: Unmeasured, Findings: []Finding{
			{Clip: name, Status: Unmeasured, Limit: noLimit, Place: nowhere, Missing: reason, Detail: sentence(reason)},
		}}
	}
	found := folded(c.record, c.hold())
	findings := append(found.exceeded, found.unjudged()...)
	slices.SortStableFunc(findings, Finding.Compare)
	v := Verdict{Clip: name, Status: Passed}
	for _, f := range findings {
		v.Findings = append(v.Findings, c.worded(f))
	}
	if len(v.Findings) > 0 {
		v.Status = v.Findings[0].Status
	}
	return v
}

// found is what holding a clip against limits gives: a finding of each that is exceeded
// or may be, and one of each that could not be judged, which has no value.
type found struct{ exceeded, missing []Finding }

// noLimit is the limit of findings that are about none.
var noLimit = Limit{Low: math.Inf(-1), High: math.Inf(1)}

// grouped parts limits by metric, statistic, screen, and where a stretch is looked for that
// leaves them by how long it lasts and on which sides they are, in the order in which these first come.
func grouped(limits []Limit) [][]Limit {
	var groups [][]Limit
	for _, l := range limits {
		i := slices.IndexFunc(groups, func(g []Limit) bool {
			return g[0].Metric == l.Metric && g[0].Statistic == l.Statistic && g[0].Screen == l.Screen &&
				(!l.Statistic.lasts || g[0].Seconds == l.Seconds && math.IsInf(g[0].Low, 0) == math.IsInf(l.Low, 0) && math.IsInf(g[0].High, 0) == math.IsInf(l.High, 0))
		})
		if i < 0 {
			groups = append(groups, []Limit{l})
			continue
		}
		groups[i] = append(groups[i], l)
	}
	return groups
}

// hold holds the clip's set-up and its statistics against the limits.
func (c judgedClip) hold() found {
	all := found{exceeded: c.setup()}
	for _, group := range grouped(c.limits) {
		if group[0].Statistic.Scope != OfClip {
			continue
		}
		f := c.held(group)
		switch {
		case f.Status == Passed:
		case f.Status != Unmeasured:
			all.exceeded = append(all.exceeded, f)
		case c.missingMatters(f.Limit) && !slices.ContainsFunc(all.missing, func(g Finding) bool { return g.Limit.Metric == f.Limit.Metric }):
			all.missing = append(all.missing, f)
		}
	}
	return all
}

// held holds one statistic of one metric against its limits.
func (c judgedClip) held(limits []Limit) Finding {
	l, statistic := limits[0], limits[0].Statistic
	value := l.of(c.record)
	if !value.OK() {
		return c.finding(l, Unmeasured, value)
	}
	if statistic.counts != nil && !statistic.counts(c.record, l.Metric) {
		return Finding{Status: Passed}
	}
	l, status := worstOf(limits, value)
	switch {
	case status == Passed, statistic.certain && l.excess(value.Value) <= record.Sure*value.SE:
		return Finding{Status: Passed}
	case l.open(value) && 2*record.Sure*value.SE > l.High-l.Low:
		return c.finding(l, Unmeasured, stat.Missing(
			fmt.Sprintf("it is known to ±%s only, which is no finer than the range to keep", number.Digits(record.Sure*value.SE))))
	case outOfTime(c.record.Header.Sync, l, value):
		return c.finding(l, Warned, value)
	}
	return c.finding(l, status, value)
}

// finding makes a finding of a limit that is exceeded or may be, or could not be judged.
func (c judgedClip) finding(l Limit, status Status, value stat.Measurement) Finding {
	unit := unitOf(l.Metric)
	f := Finding{
		Clip: c.record.Header.Clip.Name, Status: status, Limit: l, Unit: unit, Extent: c.record.Header.Extent(unit),
		Value: value.Value, SE: value.SE, Missing: value.Missing, Place: nowhere,
	}
	if status != Unmeasured {
		f.Place = l.Statistic.place(c.record, l)
		f.Realign = slices.Contains(verticalTerms, l.Metric) && !outOfTime(c.record.Header.Sync, l, value)
	}
	return f
}

// missingMatters reports whether it says something about the clip that a limit could not be
// judged.
func (c judgedClip) missingMatters(l Limit) bool {
	if m, ok := metrics.Lookup(l.Metric); ok && m.Conditional {
		return false
	}
	return l.Statistic.missingMatters == nil || l.Statistic.missingMatters(c.record, l.Metric)
}

// open reports whether nobody can tell on which side of a limit to fail a value is.
func (l Limit) open(value stat.Measurement) bool {
	excess, margin := l.excess(value.Value), record.Sure*value.SE
	return l.Severity == Fail && excess > -margin && excess <= margin
}

// worstOf returns what a value is judged to be by limits on it, and by which of
// them: of equal judgements the one with the largest excess.
func worstOf(limits []Limit, value stat.Measurement) (Limit, Status) {
	var worst Limit
	status, told, maxExcess := Passed, false, math.Inf(-1)
	for _, l := range limits {
		excess := l.excess(value.Value)
		s, t := Passed, true
		switch {
		case l.open(value):
			s, t = Warned, false
		case excess <= record.Sure*value.SE:
		case l.Severity == Fail:
			s = Failed
		default:
			s = Warned
		}
		if s == Passed {
			continue
		}
		worse := s.Compare(status) < 0 ||
			s == status && (t && !told || t == told && excess > maxExcess)
		if worse {
			worst, status, told, maxExcess = l, s, t, excess
		}
	}
	return worst, status
}

// unjudged makes one finding of all limits that could not be judged for the same reason.
func (f found) unjudged() []Finding {
	var all []Finding
	for _, g := range f.missing {
		i := slices.IndexFunc(all, func(h Finding) bool { return h.Missing == g.Missing })
		if i < 0 {
			all = append(all, g)
			continue
		}
		all[i].Also = append(all[i].Also, g.Limit.Metric)
	}
	return all
}
