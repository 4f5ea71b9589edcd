package judge

import (
	"fmt"
	"slices"

	"nightpair/metrics/stat"
	"nightpair/qc/history"
	"nightpair/qc/record"
	"nightpair/qc/target"
)

// OverDay holds what is said of no single clip against the limits on statistics of the
// day: of a rig over its clips, of clips that follow each other, of targets at known
// distances. The findings name the clips that they lie between or are about.
func OverDay(records []record.Record, targets []target.Fit, limits []Limit) []Finding {
	var findings []Finding
	d := day{records: records, targets: targets}
	for _, group := range grouped(limits) {
		if group[0].Statistic.Scope == OfClip {
			continue
		}
		if group[0].Statistic == Day && d.histories == nil {
			d.histories = history.FollowAll(records)
		}
		for _, reading := range group[0].Statistic.readings(d, group) {
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
	// histories are those of the rigs, found when a limit asks for them.
	histories []history.History
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

// dayReadings returns each change of a metric over the day, of each rig: its steps and creeps, and
// what goes with the toe-in (package history).
func dayReadings(d day, limits []Limit) []dayReading {
	metric := limits[0].Metric
	var all []dayReading
	for _, h := range d.histories {
		for _, e := range h.Events {
			for _, p := range e.Parts {
				if p.Name() == metric {
					all = append(all, changeReading(h.Rig, e, p))
				}
			}
		}
	}
	return all
}

// dayMetrics lists the metrics that are followed over the day.
func dayMetrics() []string {
	var names []string
	for _, t := range history.Terms {
		names = append(names, t.Names()...)
	}
	return names
}

const converged = "The convergence changed there too: check that its axis is square and that the cameras stand level."

func changeReading(rig history.Rig, e history.Event, p history.Part) dayReading {
	before, after := rig.Clips[p.From], rig.Clips[p.To]
	from, to := before.Name(), after.Name()
	metric := Label(p.Name())
	of := ""
	if rig.Name != "" {
		of = fmt.Sprintf(" (%s)", rig.Name)
	}
	r := dayReading{value: p.Size, clips: []string{from, to}, in: before.Record.Header, mend: Rig}
	if p.Kind == history.Creep {
		r.place = placeOf(before.Record.Moments[0], after.Record.Moments[0], nowhere.Worst)
		r.say = func(f Finding) string {
			return fmt.Sprintf("from %s to %s, over %d clips%s, %s drifts by %s", from, to, p.To-p.From+1, of, metric, f.signedAmount(f.Value))
		}
		r.advice = "Something on the rig is loose or slipping: check its fastenings and line it up again."
		switch {
		case !p.Series.Rig:
			r.advice = "Check both cameras' settings, genlock and temperature."
		case e.Kind == history.Converged:
			r.advice = converged
		}
		return r
	}
	if p.Kind == history.WithToeIn {
		r.place = placeOf(before.Record.Moments[0], after.Record.Moments[0], nowhere.Worst)
		r.say = func(f Finding) string {
			return fmt.Sprintf("from %s to %s%s, %s goes with the toe-in, by %s over its range", from, to, of, metric, f.signedAmount(f.Value))
		}
		r.advice = "The convergence axis is out of square, or one camera stands higher: check both."
		return r
	}
	last := before.Record.Moments[len(before.Record.Moments)-1]
	r.place = placeOf(last, after.Record.Moments[0], nowhere.Worst)
	r.say = func(f Finding) string {
		return fmt.Sprintf("between %s and %s%s, %s steps by %s", from, to, of, metric, f.signedAmount(f.Value))
	}
	switch e.Kind {
	case history.Realigned:
		r.mend, r.advice = Post, "It is better from there on, as after a realignment: correct the clips before."
	case history.Relensed:
		r.advice = "A lens, its focal length or a camera's place changed: match the focal lengths and line up the rig."
	case history.Converged:
		r.advice = converged
	case history.Reset:
		r.advice = "A setting of a camera changed: check that both match."
	default:
		r.advice = "The rig was knocked or something on it slipped: line it up again."
	}
	return r
}
