package qc

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"nightpair/metrics"
	"nightpair/metrics/stat"
)

// sure is how many standard errors away from a bound a value has to be before
// it is said to be on that side: about one time in forty that is wrong.
const sure = 2

// Judge holds records against limits, which must be those for a screen (see
// Limits.On), and returns a verdict for each record, in their order. It looks
// at nothing else. Limits on the statistics Day and Next are for
// JudgeDay, those on OnCharts for JudgeCharts.
//
// A limit to fail is exceeded when the value is beyond it by more than two
// standard errors; nearer to it on either side nobody can tell, which is a
// warning, or where that could be said of the whole range to keep, no measurement.
// A limit to warn is exceeded by more than two standard errors only.
// A metric that could not be measured is never passed: unless it is one that
// sound clips often do not show, the clip is unmeasured.
func Judge(records []Record, limits []Limit) []Verdict {
	for _, l := range limits {
		if l.Unit != MetricUnit {
			panic(fmt.Sprintf("qc: a limit on %s in %s was judged without a screen", l.Metric, l.Unit))
		}
	}
	verdicts := make([]Verdict, len(records))
	for i, r := range records {
		verdicts[i] = judgeClip(r, limits)
	}
	return verdicts
}

func judgeClip(r Record, limits []Limit) Verdict {
	v := Verdict{Clip: r.Header.Clip.Name, Status: Passed}
	if reason := r.failure(); reason != "" {
		v.Status = Unmeasured
		v.Findings = []Finding{{Clip: v.Clip, Status: Unmeasured, Limit: noLimit, Worst: -1, Detail: sentence(reason)}}
		return v
	}
	j := judging{record: r, limits: limits}
	j.setup()
	for _, group := range grouped(limits) {
		j.judge(group)
	}
	j.foldSameCause()
	j.foldLight()
	j.foldHeight()
	j.findings = append(j.findings, j.unmeasured()...)
	slices.SortStableFunc(j.findings, compareFindings)
	v.Findings = j.findings
	if len(v.Findings) > 0 {
		v.Status = v.Findings[0].Status
	}
	return v
}

// noLimit is the limit of findings that are about none.
var noLimit = Limit{Low: math.Inf(-1), High: math.Inf(1)}

// failure says why nothing was measured of a clip; empty when something was.
func (r Record) failure() string {
	switch {
	case r.Header.Clip.Problem != "":
		return r.Header.Clip.Problem
	case r.Trailer.Failed != "":
		return r.Trailer.Failed
	case !r.Trailer.Done:
		return "the measuring of the clip did not come to its end"
	case len(r.Moments) == 0:
		return "no moment of the clip was measured"
	}
	return ""
}

// grouped parts limits by metric, statistic and screen, in the order in which these
// first come.
func grouped(limits []Limit) [][]Limit {
	var groups [][]Limit
	for _, l := range limits {
		i := slices.IndexFunc(groups, func(g []Limit) bool {
			return g[0].Metric == l.Metric && g[0].Statistic == l.Statistic && g[0].Screen == l.Screen
		})
		if i < 0 {
			groups = append(groups, []Limit{l})
			continue
		}
		groups[i] = append(groups[i], l)
	}
	return groups
}

// judging is the judging of one clip.
type judging struct {
	record   Record
	limits   []Limit
	findings []Finding
	missing  []gap
}

// gap is a limit that could not be judged, and why.
type gap struct {
	limit  Limit
	reason string
}

// judge holds one statistic of one metric against its limits.
func (j *judging) judge(limits []Limit) {
	first := limits[0]
	if first.Statistic == Day || first.Statistic == Next || first.Statistic == OnCharts {
		return
	}
	value := first.Statistic.Of(j.record, first.Metric)
	if !value.OK() {
		j.miss(first, value.Missing)
		return
	}
	// What differs from shot to shot of a cut file is no drift.
	if first.Statistic == Drift && (len(j.record.Header.Sync.Cuts) > 0 || !j.record.drifts(first.Metric)) {
		return
	}
	l, status := worstOf(limits, value)
	switch {
	case status == Passed:
		return
	case l.open(value) && 2*sure*value.SE > l.High-l.Low:
		j.miss(l, fmt.Sprintf("it is known to ±%s only, which is no finer than the range to keep", digits(sure*value.SE)))
		return
	case j.record.Header.Sync.explains(l, value):
		status = Warned
	}
	j.findings = append(j.findings, j.finding(l, status, value))
}

// open reports whether nobody can tell on which side of a limit to fail a value is.
func (l Limit) open(value stat.Measurement) bool {
	excess, margin := l.excess(value.Value), sure*value.SE
	return l.Severity == Fail && excess > -margin && excess <= margin
}

// miss notes that a limit could not be judged, where that says something about
// the clip. Facts are as the files tell them, few clips are cut, and a drift cannot
// be told of a short clip.
func (j *judging) miss(l Limit, reason string) {
	if l.Statistic == Fact || l.Statistic == Across {
		return
	}
	if m, ok := metrics.Lookup(l.Metric); ok && m.Conditional {
		return
	}
	if _, tooFew := j.record.series(l.Metric); (l.Statistic == Drift || l.Statistic == Jump) && tooFew == "" {
		return
	}
	if !slices.ContainsFunc(j.missing, func(g gap) bool { return g.limit.Metric == l.Metric }) {
		j.missing = append(j.missing, gap{l, reason})
	}
}

// drifts reports whether a metric's change over the clip is more than chance.
func (r Record) drifts(metric string) bool {
	s, missing := r.series(metric)
	return missing == "" && s.drift(r).significant
}

// worstOf returns what a value is judged to be by limits on it, and by which of
// them: of equal judgements the one that is exceeded most.
func worstOf(limits []Limit, value stat.Measurement) (Limit, Status) {
	var worst Limit
	status, told, most := Passed, false, math.Inf(-1)
	for _, l := range limits {
		excess := l.excess(value.Value)
		s, t := Passed, true
		switch {
		case l.open(value):
			s, t = Warned, false
		case excess <= sure*value.SE:
		case l.Severity == Fail:
			s = Failed
		default:
			s = Warned
		}
		if s == Passed {
			continue
		}
		worse := s.rank() < status.rank() ||
			s == status && (t && !told || t == told && excess > most)
		if worse {
			worst, status, told, most = l, s, t, excess
		}
	}
	return worst, status
}

// finding makes a finding of a limit that is exceeded or may be.
func (j *judging) finding(l Limit, status Status, value stat.Measurement) Finding {
	f := Finding{
		Clip: j.record.Header.Clip.Name, Status: status, Limit: l,
		Unit: unitOf(l), Value: value.Value, SE: value.SE, Worst: -1,
	}
	_, whole := j.record.Header.Sync.Values[l.Metric]
	switch {
	case whole:
	case l.Statistic == Fact:
		f.From, f.To, f.Worst = j.record.whereHitches(l.Metric)
	case l.Statistic == Drift:
		f.From = j.record.Moments[0].label()
		f.To = j.record.Moments[len(j.record.Moments)-1].label()
	case l.Statistic == Jump:
		from, to := j.record.jumpMoments(l.Metric)
		f.From, f.To, f.Worst = from.label(), to.label(), to.Frame
	case l.Statistic == Across:
		_, at := j.record.cutJump(l.Metric)
		f.From, f.To, f.Worst = j.record.FrameLabel(at.Frame-1), j.record.FrameLabel(at.Frame), at.Frame
	default:
		f.From, f.To, f.Worst = j.where(l)
	}
	advice := ""
	f.Mend, advice = j.mend(f)
	f.Detail = j.detail(f)
	if advice != "" {
		f.Detail += " " + advice
	}
	if j.record.Header.Sync.explains(l, value) {
		f.Detail += heaveWords
	} else {
		f.Realign = status != Unmeasured && slices.Contains(verticalTerms, l.Metric)
	}
	return f
}

// where returns from when to when the values of a metric are out of bounds, and
// the frame where they are farthest out. Where none of them is, it is the one
// that comes nearest to it.
func (j *judging) where(l Limit) (from, to string, worst int) {
	s, _ := j.record.series(l.Metric)
	farthest, at := math.Inf(-1), 0
	for i, v := range s.value {
		m := j.record.Moments[s.moment[i]]
		excess := l.excess(v)
		if excess > farthest {
			farthest, at = excess, s.moment[i]
		}
		if excess > 0 {
			if from == "" {
				from = m.label()
			}
			to = m.label()
		}
	}
	m := j.record.Moments[at]
	if from == "" {
		from, to = m.label(), m.label()
	}
	return from, to, m.Frame
}

// label says when a moment is: its timecode or, without one, its time.
func (m Moment) label() string {
	if m.Timecode != "" {
		return m.Timecode
	}
	t := m.Time.Round(time.Millisecond)
	return fmt.Sprintf("%d:%02d:%02d.%03d", t/time.Hour, t/time.Minute%60, t/time.Second%60, t/time.Millisecond%1000)
}

// verticalTerms are the errors of a rig of which vertical disparity is made.
var verticalTerms = []string{"vertical_offset", "roll", "zoom", "keystone", "tilt_keystone", "height_step"}

// foldSameCause drops findings that say no more than others do.
func (j *judging) foldSameCause() {
	all := slices.Clone(j.findings)
	covered := func(f Finding, by func(Finding) bool) bool {
		return slices.ContainsFunc(all, func(g Finding) bool {
			return g.Status.rank() <= f.Status.rank() && by(g)
		})
	}
	j.findings = slices.DeleteFunc(j.findings, func(f Finding) bool {
		switch name := f.Limit.Metric; {
		case name == "vertical_worst" || name == "vertical_rest":
			return covered(f, func(g Finding) bool {
				return g.Limit.Metric == "sync_offset" || g.Limit.Metric == "readout_skew" ||
					name == "vertical_worst" && slices.Contains(verticalTerms, g.Limit.Metric) && g.Limit.Statistic != Drift
			})
		case f.Limit.Statistic == Lowest || f.Limit.Statistic == Top:
			return covered(f, func(g Finding) bool {
				return g.Limit.Metric == name && g.Limit.Statistic == Median && (g.Value < g.Limit.Low) == (f.Value < f.Limit.Low)
			})
		case name == "frames_difference" || name == "timecode_difference":
			return slices.ContainsFunc(all, func(g Finding) bool {
				return g.Limit.Metric == slipName && float64(j.record.Header.Setup.Slip) == f.Value
			})
		}
		return false
	})
}

// unmeasured makes findings of the limits that could not be judged: one for
// each reason.
func (j *judging) unmeasured() []Finding {
	var findings []Finding
	var reasons []string
	names := map[string][]string{}
	firsts := map[string]Limit{}
	for _, g := range j.missing {
		if names[g.reason] == nil {
			reasons = append(reasons, g.reason)
			firsts[g.reason] = g.limit
		}
		names[g.reason] = append(names[g.reason], words(g.limit.Metric))
	}
	for _, reason := range reasons {
		findings = append(findings, Finding{
			Clip: j.record.Header.Clip.Name, Status: Unmeasured, Limit: firsts[reason], Unit: unitOf(firsts[reason]), Worst: -1,
			Detail: sentence(fmt.Sprintf("%s could not be judged: %s", strings.Join(names[reason], ", "), reason)),
		})
	}
	return findings
}
