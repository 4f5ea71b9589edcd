package reports

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/qc/history"
	"nightpair/qc/number"
)

// rigLimits is the set of limits that rigs are held against, whatever clips are.
const rigLimits = "rig"

// dayRows writes day.csv: one row for each clip in the order of shooting, with what it tells of
// each term and what all clips together make of the rig there. Clips that no rig's history has,
// such as those that were not measured, come last.
func (r *report) dayRows(w *csvWriter) {
	head := []string{"clip", "rig", "begun", "hours", "odd", "event"}
	for _, t := range history.Terms {
		head = append(head, t.Name, t.Name+"_se", t.Name+"_rig", t.Name+"_rig_se")
		if names := t.Names(); len(names) > 1 {
			head = append(head, names[1]+"_rig", names[1]+"_rig_se")
		}
	}
	w.row(head)
	type place struct {
		history *history.History
		clip    int
		at      float64
	}
	var places []place
	seen := map[string]bool{}
	same := true // what tells the order
	for i := range r.histories {
		h := &r.histories[i]
		same = same && h.Rig.Order == r.histories[0].Rig.Order
		for k, c := range h.Rig.Clips {
			places = append(places, place{h, k, h.Rig.Began + c.Hours})
			seen[c.Name()] = true
		}
	}
	if same {
		slices.SortStableFunc(places, func(a, b place) int { return cmp.Compare(a.at, b.at) })
	}
	for _, p := range places {
		c := p.history.Rig.Clips[p.clip]
		begun := c.Record.Header.Left.Timecode
		if created := c.Record.Header.Left.Created; p.history.Rig.Order != history.ByTimecode && !created.IsZero() {
			begun = created.UTC().Format(time.RFC3339)
		}
		const hourDecimals = 4 // a third of a second
		var odd, events []string
		for _, s := range p.history.Series {
			if slices.Contains(s.Odd, p.clip) {
				odd = append(odd, s.Name)
			}
		}
		for _, e := range p.history.Events {
			if e.Parts[0].Kind == history.Step && e.To == p.clip {
				events = append(events, e.Kind.String())
			}
		}
		row := []string{c.Name(), p.history.Rig.Name, begun, number.Cell(c.Hours, hourDecimals), strings.Join(odd, " "), strings.Join(events, " ")}
		for _, s := range p.history.Series {
			m, _ := r.lookup(s.Name)
			row = appendValue(row, m, s.Clips[p.clip])
			row = appendValue(row, m, s.State[p.clip])
			if names := s.Names(); len(names) > 1 {
				m, _ := r.lookup(names[1])
				row = appendValue(row, m, s.Slope[p.clip])
			}
		}
		w.row(row)
	}
	for _, c := range r.clips {
		if !seen[c.name()] {
			w.row(append([]string{c.name()}, make([]string, len(head)-1)...))
		}
	}
}

// rigRows writes rig.csv: for each rig what there is to adjust, in the order in which it is
// lined up, then its steps and creeps, the latest first.
func (r *report) rigRows(w *csvWriter) {
	w.row([]string{"rig", "row", "metric", "screw", "camera", "way", "value", "se", "unit", "pixels",
		"clip_from", "clip_to", "clips", "event", "detail"})
	for i, h := range r.histories {
		cells := func(metric string, v stat.Measurement, px float64, hasPixels bool) (value, se, pixels string) {
			m, _ := r.lookup(metric)
			if metric == metrics.HeightStep || m.Name == "" {
				m.Decimals = 3
			}
			if v.OK() {
				value, se = number.Cell(v.Value, m.Decimals+csvDecimals), number.CellSE(v.SE, m.Decimals+csvDecimals)
				if hasPixels {
					pixels = number.Cell(px, pixelDecimals)
				}
			}
			return value, se, pixels
		}
		for _, a := range r.lineUps[i] {
			value, se, px := cells(a.Metric, a.Value, a.Pixels, a.pixels != nil)
			detail := strings.TrimSpace(a.Why + ". " + a.Shot)
			if a.Why == "" {
				detail = ""
			}
			w.row([]string{h.Rig.Name, a.Row, a.Metric, a.Name, a.Camera, a.Way, value, se, a.Unit, px,
				a.From, a.To, count(a.Clips), "", detail})
		}
		for _, e := range slices.Backward(h.Events) {
			for _, p := range e.Parts {
				if p.Name() == "" {
					continue
				}
				s := screws[p.Name()]
				px := 0.0
				if s.pixels != nil {
					px, _ = s.pixels(h.Rig.Clips[p.To].Record.Header, p.Size.Value)
				}
				value, se, pixels := cells(p.Name(), p.Size, px, s.pixels != nil)
				clips := 0
				detail := "from " + strconv.FormatFloat(p.Before, 'g', 4, 64) + " to " + strconv.FormatFloat(p.After, 'g', 4, 64)
				if p.Kind != history.Step {
					clips = p.To - p.From + 1
				}
				if p.Kind == history.WithToeIn {
					detail = ""
				}
				w.row([]string{h.Rig.Name, rowOf(p.Kind), p.Name(), s.Name, s.Camera, "", value, se, unit(p.Name()), pixels,
					h.Rig.Clips[p.From].Name(), h.Rig.Clips[p.To].Name(), count(clips), e.Kind.String(), detail})
			}
		}
	}
}

// rowOf names a change as a row of rig.csv does.
func rowOf(k history.Kind) string {
	return [...]string{"step", "creep", "toe-in"}[k]
}
