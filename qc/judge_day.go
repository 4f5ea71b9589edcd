package qc

import (
	"cmp"
	"fmt"
	"slices"

	"nightpair/metrics/stat"
)

// JudgeDay holds the change of a rig over the day against the limits on the
// statistic Day: its clips' medians, in the order of their creation or, where
// the files do not tell that, of their timecodes. Clips of different cameras
// are judged apart. The findings are about no single clip; From and To are the
// timecodes of the first and the last one.
//
// A change counts when a rank test finds a trend in the clips (Mann–Kendall, p
// below 0.01, for which it takes six of them) and its size exceeds the limit by
// more than two standard errors.
//
// Limits on the statistic Next are held against clips that follow each other, see
// Follows.
func JudgeDay(records []Record, limits []Limit) []Finding {
	var findings []Finding
	for _, group := range grouped(limits) {
		if group[0].Statistic == Next {
			findings = append(findings, judgeFollowing(records, group)...)
		}
		if group[0].Statistic != Day {
			continue
		}
		for _, rig := range rigs(records) {
			if f, ok := judgeRig(rig, group); ok {
				findings = append(findings, f)
			}
		}
	}
	slices.SortStableFunc(findings, compareFindings)
	return findings
}

// rigs parts records by the cameras that their files name, in the order in
// which these first come.
func rigs(records []Record) [][]Record {
	var all [][]Record
	at := map[[2]string]int{}
	for _, r := range records {
		if r.failure() != "" {
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

// take is a clip's part in the day: when it was shot and what was measured.
type take struct {
	record Record
	hours  float64
	median stat.Measurement
}

func judgeRig(records []Record, limits []Limit) (Finding, bool) {
	var takes []take
	// The files' own times count only where all of them tell theirs.
	earliest := slices.MinFunc(records, func(a, b Record) int {
		return a.Header.Left.Created.Compare(b.Header.Left.Created)
	}).Header.Left.Created
	created := !earliest.IsZero()
	for _, r := range records {
		t := take{record: r, median: Median.Of(r, limits[0].Metric)}
		known := true
		if created {
			t.hours = r.Header.Left.Created.Sub(earliest).Hours()
		} else {
			t.hours, known = labelHours(r.Header.Left)
		}
		if known && t.median.OK() {
			takes = append(takes, t)
		}
	}
	if len(takes) < fewestForTrend {
		return Finding{}, false
	}
	slices.SortStableFunc(takes, func(a, b take) int {
		return cmp.Or(cmp.Compare(a.hours, b.hours), cmp.Compare(a.record.Header.Clip.Name, b.record.Header.Clip.Name))
	})
	var time, value, se []float64
	for _, t := range takes {
		time = append(time, t.hours)
		value = append(value, t.median.Value)
		se = append(se, t.median.SE)
	}
	first, last := takes[0], takes[len(takes)-1]
	d := trend(time, value, se, last.hours-first.hours)
	if !d.change.OK() || !d.significant {
		return Finding{}, false
	}
	l, status := worstOf(limits, d.change)
	if status == Passed {
		return Finding{}, false
	}
	f := Finding{
		Status: status, Limit: l, Unit: unitOf(l), Value: d.change.Value, SE: d.change.SE, Worst: -1, Mend: Rig,
		From: first.record.Moments[0].label(), To: last.record.Moments[0].label(),
	}
	cameras := ""
	if c := first.record.Header.Left.Camera; c != "" {
		cameras = fmt.Sprintf(" (left camera %s)", c)
	}
	f.Detail = sentence(fmt.Sprintf("over %d clips, from %s to %s, %s changes by %s%s; %s",
		len(takes), first.record.Header.Clip.Name, last.record.Header.Clip.Name, words(l.Metric),
		signedAmount(l, d.change.Value), cameras, limitWords(f))) + " Something on the rig gives way: check its fastenings and line it up again."
	return f, true
}

// labelHours returns when a file was begun by its timecode.
func labelHours(s Source) (float64, bool) {
	base, drop, ok := labelCounting(s)
	if !ok {
		return 0, false
	}
	frame, ok := parseLabel(s.Timecode, base, drop)
	return float64(frame) / (s.Rate() * 3600), ok
}
