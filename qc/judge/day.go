package judge

import (
	"cmp"
	"fmt"
	"slices"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/series"
	"nightpair/qc/target"
)

// OverDay holds what is said of no single clip against the limits on statistics of the
// day: of a rig over its clips, of clips that follow each other, of targets at known
// distances. The findings name the clips that they lie between or are about.
func OverDay(records []record.Record, targets []target.Fit, limits []Limit) []Finding {
	var findings []Finding
	for _, group := range grouped(limits) {
		if group[0].Statistic.Scope == OfClip {
			continue
		}
		for _, reading := range group[0].Statistic.readings(day{records, targets}, group) {
			if f, ok := reading.held(group); ok {
				findings = append(findings, f)
			}
		}
	}
	slices.SortStableFunc(findings, Finding.Compare)
	return findings
}

// day is all that can be judged of a day.
type day struct {
	records []record.Record
	targets []target.Fit
}

// dayReading is one value of a statistic of the day.
type dayReading struct {
	value stat.Measurement
	clips []string // that it lies between or is about
	place Place
	in    record.Header // of the clip whose picture tells how large a pixel is
	mend  Mend
	// say says what is wrong, and advice what to do; notes are what else there is to say.
	say    func(Finding) string
	advice string
	notes  []string
}

// held holds a reading against limits; false where it keeps them.
func (r dayReading) held(limits []Limit) (Finding, bool) {
	l, status := worstOf(limits, r.value)
	if status == Passed {
		return Finding{}, false
	}
	unit := unitOf(l.Metric)
	f := Finding{
		Clips: r.clips, Status: status, Limit: l, Unit: unit, Extent: r.in.Extent(unit), Value: r.value.Value, SE: r.value.SE,
		Place: r.place, Mend: r.mend, Notes: r.notes,
	}
	f.Detail = f.detail(r.say(f), r.advice)
	return f, true
}

// dayReadings returns the change of each rig over the day: of its clips' medians, in the
// order of their creation or, where the files do not tell that, of their timecodes. Clips
// of different cameras are apart.
//
// A change is one when a rank test finds a trend in the clips (Mann–Kendall, p
// below 0.01, for which it takes six of them).
func dayReadings(d day, limits []Limit) []dayReading {
	var all []dayReading
	for _, rig := range rigs(d.records) {
		if r, ok := rigReading(rig, limits[0].Metric); ok {
			all = append(all, r)
		}
	}
	return all
}

// rigs parts records by the cameras that their files name, in the order in
// which these first come.
func rigs(records []record.Record) [][]record.Record {
	var all [][]record.Record
	at := map[[2]string]int{}
	for _, r := range records {
		if r.Failure() != "" {
			continue
		}
		key := [2]string{r.Header.Left.Camera, r.Header.Right.Camera}
		i, ok := at[key]
		if !ok {
			i = len(all)
			at[key] = i
			all = append(all, nil)
		}
		all[i] = append(all[i], r)
	}
	return all
}

// datedClip is a clip's part in the day: when it was shot and what was measured.
type datedClip struct {
	record record.Record
	hours  float64
	median stat.Measurement
}

func rigReading(records []record.Record, metric string) (dayReading, bool) {
	var takes []datedClip
	// The files' own times count only where all of them tell theirs.
	earliest := slices.MinFunc(records, func(a, b record.Record) int {
		return a.Header.Left.Created.Compare(b.Header.Left.Created)
	}).Header.Left.Created
	created := !earliest.IsZero()
	for _, r := range records {
		t := datedClip{record: r, median: Median.Of(r, metric)}
		known := true
		if created {
			t.hours = r.Header.Left.Created.Sub(earliest).Hours()
		} else {
			t.hours, known = r.Header.Left.LabelHours()
		}
		if known && t.median.OK() {
			takes = append(takes, t)
		}
	}
	if len(takes) < series.MinForTrend {
		return dayReading{}, false
	}
	slices.SortStableFunc(takes, func(a, b datedClip) int {
		return cmp.Or(cmp.Compare(a.hours, b.hours), cmp.Compare(a.record.Header.Clip.Name, b.record.Header.Clip.Name))
	})
	var time, value, se []float64
	for _, t := range takes {
		time = append(time, t.hours)
		value = append(value, t.median.Value)
		se = append(se, t.median.SE)
	}
	first, last := takes[0], takes[len(takes)-1]
	d := series.Trend(time, value, se, last.hours-first.hours)
	if !d.Change.OK() || !d.Significant {
		return dayReading{}, false
	}
	cameras := ""
	if c := first.record.Header.Left.Camera; c != "" {
		cameras = fmt.Sprintf(" (left camera %s)", c)
	}
	from, to := first.record.Header.Clip.Name, last.record.Header.Clip.Name
	return dayReading{
		value: d.Change, clips: []string{from, to}, in: first.record.Header, mend: Rig,
		place: placeOf(first.record.Moments[0], last.record.Moments[0], nowhere.Worst),
		say: func(f Finding) string {
			return fmt.Sprintf("from %s to %s, over %d clips%s, %s drifts by %s", from, to, len(takes), cameras, Label(metric), f.signedAmount(f.Value))
		},
		advice: "Something on the rig is loose or slipping: check its fastenings and line it up again.",
	}, true
}
