package judge

import (
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/series"
)

// Statistic is one way to judge what was measured. A new one is a value here and in
// Statistics: judging, wording, limits files and pages follow from it.
type Statistic struct {
	Name  string // as in limits files
	Label string // as the pages say it, empty where a value says it all
	// Fault is what is wrong where it leaves its limits, behind the name of a metric.
	Fault string
	Scope Scope
	// Level says that its values are values of the metric itself and not changes of
	// it: what moves the metric moves them as much.
	Level bool
	// Extreme says that it tells of single moments what the median tells of a clip.
	Extreme bool
	// lasts says that a limit on it may be exceeded for some seconds.
	lasts bool
	// names lists the metrics or facts that it can be told of; nil means all metrics.
	names func() []string

	// Of a single clip: value returns the statistic with its standard error, or why
	// there is none, and place where in the clip it is, for a value out of a limit.
	value func(r record.Record, l Limit) stat.Measurement
	place func(r record.Record, l Limit) Place
	// certain says that nobody can tell of it is no warning: it is the worst of many values, of
	// which one or the other comes near a limit by chance.
	certain bool
	// counts reports whether a value is there to be judged; nil means always.
	counts func(r record.Record, metric string) bool
	// missingMatters reports whether a value that is missing says something about the clip;
	// nil means always.
	missingMatters func(r record.Record, metric string) bool
	// mistimed says that eyes out of sync may make it up in a steady camera motion.
	mistimed bool

	// Of the day: readings returns each value that there is of it.
	readings func(day day, limits []Limit) []dayReading

	// say puts a value into words, remedy says who mends it and how; nil leaves that to
	// the phrase of the metric. notes adds to it.
	say    func(clip judgedClip, f Finding) string
	notes  func(clip judgedClip, f Finding) []string
	remedy remedy
}

// Scope is what a statistic is told of.
type Scope uint8

const (
	OfClip Scope = iota
	OfDay
	OfNeighbours // clips that follow each other
	OfTargets    // clips of test targets at known distances
)

// Statistics lists every statistic. It is never changed.
var Statistics = []*Statistic{Median, Lowest, Top, Stretch, Change, Oscillation, Drift, Jump, Across, Next, OnTargets, Day, Fact}

// lookupStatistic finds a statistic by its name.
func lookupStatistic(name string) (*Statistic, bool) {
	i := slices.IndexFunc(Statistics, func(s *Statistic) bool { return s.Name == name })
	if i < 0 {
		return nil, false
	}
	return Statistics[i], true
}

// Of returns the statistic of a metric, or of a fact, over a clip, with its
// standard error; or why there is none. One of the day is none of a single clip.
func (s *Statistic) Of(r record.Record, metric string) stat.Measurement {
	if s.value == nil {
		return stat.Missing("a clip has no " + s.Name)
	}
	return s.value(r, Limit{Metric: metric, Statistic: s, Low: math.Inf(-1), High: math.Inf(1), Seconds: stretchSeconds})
}

// of returns what the limit is held against.
func (l Limit) of(r record.Record) stat.Measurement { return l.Statistic.value(r, l) }

// String returns the statistic's name; empty for none.
func (s *Statistic) String() string {
	if s == nil {
		return ""
	}
	return s.Name
}

// Names lists the metrics or facts that the statistic can be told of.
func (s *Statistic) Names() []string {
	if s.names == nil {
		return metricNames()
	}
	return s.names()
}

func statisticNames() []string {
	var names []string
	for _, s := range Statistics {
		names = append(names, s.Name)
	}
	return names
}

func metricNames() []string {
	var names []string
	for _, m := range metrics.All {
		names = append(names, m.Name)
	}
	return names
}

// momentMetrics lists the metrics that moments have.
func momentMetrics() []string {
	var names []string
	for _, m := range metrics.All {
		if m.Measure != nil {
			names = append(names, m.Name)
		}
	}
	return names
}

// The statistics.
var (
	Median = &Statistic{
		Name: "median", Label: "median of the clip", Level: true, mistimed: true, place: placeOfValues,
		value: func(r record.Record, l Limit) stat.Measurement { return series.Median(r, l.Metric) },
	}
	Lowest = &Statistic{
		Name: "lowest", Label: "lowest in the clip (5th percentile)", Level: true, Extreme: true, place: placeOfValues,
		value: ofSeries(func(s series.Moments) stat.Measurement { return s.Percentile(0.05) }),
	}
	Top = &Statistic{
		Name: "highest", Label: "highest in the clip (95th percentile)", Level: true, Extreme: true, place: placeOfValues,
		value: ofSeries(func(s series.Moments) stat.Measurement { return s.Percentile(0.95) }),
	}
	// Stretch is the median of the worst stretch that lasts as long as the limit says: the one
	// that departs most from what the limit allows. It is one of the readings of every frame
	// where there are some, else of neighbouring moments.
	Stretch = &Statistic{
		Name: "stretch", Label: "worst stretch", Level: true, Extreme: true, names: momentMetrics, lasts: true, certain: true,
		value: stretchValue, place: placeOfStretch, missingMatters: never, mistimed: true, say: sayStretch,
	}
	// Change is the largest change from one such stretch to another of the same shot, as a
	// step, a ramp or a bad stretch makes it, from the readings of every frame.
	Change = &Statistic{
		Name: "change", Label: "largest change within the shot", Fault: "changes within the shot", names: changing, lasts: true,
		value: changeValue, place: placeOfChange, missingMatters: never, mistimed: true, say: sayChange, remedy: remedyChange,
	}
	// Oscillation is the amplitude of what goes to and fro within a shot, as a loose part or the
	// flicker of a lamp makes it, from the readings of every frame.
	Oscillation = &Statistic{
		Name: "oscillation", Label: "amplitude of what goes to and fro within the shot", Fault: "goes to and fro", names: changing, lasts: true, certain: true,
		value: oscillationValue, place: placeOfOscillation, missingMatters: never, mistimed: true, say: sayOscillation, remedy: remedyOscillation,
	}
	// Drift is the change from the first to the last frame along a robust line.
	Drift = &Statistic{
		Name: "drift", Label: "change from the first to the last frame", Fault: "drifts during the shot", mistimed: true,
		value: driftValue, place: placeOfDrift, counts: driftCounts, missingMatters: seriesMissing, say: sayDrift, remedy: remedyDrift,
	}
	// Jump is the largest change from one moment to the next of its shot.
	Jump = &Statistic{
		Name: "jump", Label: "largest change from one moment to the next of its shot", Fault: "jumps",
		value: jumpValue, place: placeOfJump, missingMatters: seriesMissing, say: sayJump, notes: jumpNotes, remedy: remedyJump,
	}
	// Across is the largest change across a cut within the file. Few clips are cut.
	Across = &Statistic{
		Name: "cut", Label: "largest change across a cut within the clip", Fault: "jumps across cuts", names: depthEnds,
		value: acrossValue, place: placeOfCut, missingMatters: never, say: sayAcross, notes: acrossNotes, remedy: remedyAcross,
	}
	// Next is the change from the last moment of a clip to the first of the next of its
	// setup.
	Next = &Statistic{
		Name: "next", Label: "change to the clip that follows", Fault: "would jump from clip to clip", Scope: OfNeighbours, names: depthEnds,
		readings: followingReadings,
	}
	// OnTargets is by how much a target departs from the parallax that the others of its
	// setup make of it, see FitTargets.
	OnTargets = &Statistic{
		Name: "target", Label: "against other targets at known distances", Fault: "of targets does not follow from their distance", Scope: OfTargets,
		names: func() []string { return []string{metrics.FocusParallax} }, readings: targetReadings,
	}
	// Day is each step and each creep of a rig over its clips.
	Day = &Statistic{
		Name: "day", Label: "change over the day", Fault: "changes over the day", Scope: OfDay, names: dayMetrics,
		readings: dayReadings,
	}
	// Fact is a fact of the whole clip, see Facts. It is as the files tell it, and where
	// they do not that does not matter.
	Fact = &Statistic{
		Name: "fact", names: factNames, missingMatters: never,
		value: func(r record.Record, l Limit) stat.Measurement {
			fact, ok := LookupFact(l.Metric)
			if !ok {
				return stat.Missing("no such fact")
			}
			return fact.Of(r)
		},
		place: placeOfFrameFaults,
	}
)

// ofSeries makes a value of what is worked out from a metric's values over the clip.
func ofSeries(work func(series.Moments) stat.Measurement) func(record.Record, Limit) stat.Measurement {
	return func(r record.Record, l Limit) stat.Measurement {
		s, missing := series.OfMoments(r, l.Metric)
		if missing != "" {
			return stat.Missing(missing)
		}
		return work(s)
	}
}

func never(record.Record, string) bool { return false }

// seriesMissing reports whether a metric was measured too seldom for anything to be said
// of it: that a clip is too short for a change does not matter.
func seriesMissing(r record.Record, metric string) bool {
	_, missing := series.OfMoments(r, metric)
	return missing != ""
}

// placeOfValues returns from when to when the values of a metric are out of bounds, and
// the frame where they are farthest out. Where none of them is, it is the one
// that comes nearest to it. What takes the whole clip to be measured is nowhere in it.
func placeOfValues(r record.Record, l Limit) Place {
	s, missing := series.OfMoments(r, l.Metric)
	if missing != "" {
		return nowhere
	}
	first, last, worst := -1, -1, 0
	for i, v := range s.Value {
		if l.excess(v) > l.excess(s.Value[worst]) {
			worst = i
		}
		if l.excess(v) > 0 {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	if first < 0 {
		first, last = worst, worst
	}
	return placeOf(r.Moments[s.Moment[first]], r.Moments[s.Moment[last]], r.Moments[s.Moment[worst]].Frame)
}

// placeOf returns the place from one moment to another.
func placeOf(from, to record.Moment, worst int) Place {
	return Place{From: from.Label(), To: to.Label(), FrameFrom: from.Frame, FrameTo: to.Frame, Worst: worst}
}

// framePlace returns the place from one of the left eye's frames to another.
func framePlace(r record.Record, from, to, worst int) Place {
	return Place{From: r.FrameLabel(from), To: r.FrameLabel(to), FrameFrom: from, FrameTo: to, Worst: worst}
}
