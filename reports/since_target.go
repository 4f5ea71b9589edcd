package reports

import (
	"fmt"
	"math"
	"strings"

	"nightpair/metrics/stat"
	"nightpair/qc/history"
	"nightpair/qc/judge"
	"nightpair/qc/number"
	"nightpair/qc/record"
	"nightpair/qc/target"
)

// sinceTarget says how far a rig has gone since its last clip of a test target, against which it
// is lined up; empty where it has none. Only what stands out as a change counts.
func sinceTarget(h history.History, fits []target.Fit) string {
	metres := map[string]float64{}
	for _, f := range fits {
		for _, t := range f.Targets {
			metres[t.Clip] = t.Metres
		}
	}
	at := -1
	for i, c := range h.Rig.Clips {
		if _, ok := metres[c.Name()]; ok {
			at = i
		}
	}
	if at < 0 {
		return ""
	}
	name := h.Rig.Clips[at].Name()
	of := fmt.Sprintf("the last target, %s at %s m", name, number.Digits(metres[name]))
	var gone []string
	for _, s := range h.Series {
		for i, metric := range s.Names() {
			state := s.State
			if i > 0 {
				state = s.Slope
			}
			then, now := state[at], last(state)
			if !then.OK() || !now.OK() {
				continue
			}
			d := stat.Measured(now.Value-then.Value, math.Hypot(now.SE, then.SE))
			if math.Abs(d.Value) <= record.Sure*d.SE {
				continue
			}
			a := adjustment{screw: screws[metric], Metric: metric, Unit: unit(metric)}
			sign := ""
			if d.Value > 0 {
				sign = "+"
			}
			gone = append(gone, judge.Label(metric)+" "+sign+a.amount(h, d.Value))
		}
	}
	if len(gone) == 0 {
		return "Nothing has moved since " + of + "."
	}
	return "Since " + of + ": " + strings.Join(gone, ", ") + "."
}

// last returns the last value that was measured.
func last(values []stat.Measurement) stat.Measurement {
	for i := len(values) - 1; i >= 0; i-- {
		if values[i].OK() {
			return values[i]
		}
	}
	return stat.Missing("nothing was measured")
}
