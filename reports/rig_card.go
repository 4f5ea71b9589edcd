package reports

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/qc/history"
	"nightpair/qc/judge"
	"nightpair/qc/number"
)

// rigPage is what rig.html shows.
type rigPage struct {
	Title string
	Rigs  []rigCard
}

// rigCard is what the crew of one rig has to know.
type rigCard struct {
	Name, Anchor string
	Basis        string // which clips, and what told them
	Mirrored     string
	SinceTarget  string       // how far it has gone since its last clip of a target
	Do           []adjustment // in the order in which the rig is lined up
	Leave        []adjustment
	Unknown      []adjustment
	Events       []rigEvent // the latest first
	Odd          []oddClips
	Plots        []plot
}

// rigEvent is what happened between two clips, or crept over some.
type rigEvent struct {
	What, From, To string
	Over           bool // all of these clips, not between two
	Parts          []string
}

// oddClips are clips that stand apart in something.
type oddClips struct {
	Title string
	Names []string
}

func (r *report) rigPage() rigPage {
	p := rigPage{Title: r.Title}
	for i, h := range r.histories {
		p.Rigs = append(p.Rigs, r.rigCard(i, h))
	}
	return p
}

func (r *report) rigCard(i int, h history.History) rigCard {
	clips := h.Rig.Clips
	c := rigCard{Name: h.Rig.Name, Anchor: fmt.Sprintf("rig-%d", i+1), Mirrored: mirrored(clips[len(clips)-1]), SinceTarget: sinceTarget(h, r.Targets)}
	c.Basis = fmt.Sprintf("%s, %s to %s, in the order of %s. What told them from those of other rigs: %s.",
		number.Counted(len(clips), "clip", "clips"), clips[0].Name(), clips[len(clips)-1].Name(), h.Rig.Order, h.Rig.By)
	for _, a := range r.lineUps[i] {
		switch a.Row {
		case toDo:
			c.Do = append(c.Do, a)
		case toLeave:
			c.Leave = append(c.Leave, a)
		default:
			c.Unknown = append(c.Unknown, a)
		}
	}
	for _, e := range slices.Backward(h.Events) {
		// Toe-in is the director's, and changes with the set-up.
		if !slices.ContainsFunc(e.Parts, func(p history.Part) bool { return p.Series.Name != metrics.Keystone }) {
			continue
		}
		c.Events = append(c.Events, newRigEvent(h, e))
	}
	crew, _ := judge.LookupLimits(rigLimits)
	for _, s := range h.Series {
		if len(s.Odd) > 0 {
			o := oddClips{Title: judge.Label(s.Name)}
			for _, k := range s.Odd {
				o.Names = append(o.Names, clips[k].Name())
			}
			c.Odd = append(c.Odd, o)
		}
		if p, ok := r.rigPlot(h, s, crew.Limits()); ok {
			p.Metric = fmt.Sprintf("%d-%s", i+1, p.Metric)
			c.Plots = append(c.Plots, p)
		}
	}
	return c
}

// mirrored tells which camera's picture was recorded turned; empty where neither was.
func mirrored(c history.Clip) string {
	s := c.Record.Header.Setup
	switch left, right := s.Left != picture.Upright, s.Right != picture.Upright; {
	case s.Either || left == right:
		return ""
	case left:
		return "left"
	default:
		return "right"
	}
}

var eventWords = map[history.EventKind]string{
	history.Knocked:     "Knocked, or something slipped",
	history.Realigned:   "Better from here on, as after a realignment",
	history.Relensed:    "A lens, its focal length or a camera's place changed",
	history.Reset:       "A camera's setting changed",
	history.Crept:       "Crept",
	history.Converged:   "The convergence changed",
	history.OutOfSquare: "Goes with the toe-in: the convergence axis is out of square, or one camera stands higher",
}

func newRigEvent(h history.History, e history.Event) rigEvent {
	all := rigEvent{What: eventWords[e.Kind], From: h.Rig.Clips[e.From].Name(), To: h.Rig.Clips[e.To].Name(), Over: e.Parts[0].Kind != history.Step}
	for _, p := range e.Parts {
		name := p.Name()
		if name == "" {
			continue
		}
		a := adjustment{screw: screws[name], Metric: name, Unit: unit(name)}
		sign := ""
		if p.Size.Value > 0 {
			sign = "+"
		}
		all.Parts = append(all.Parts, judge.Label(name)+" "+sign+a.amount(h, p.Size.Value))
	}
	return all
}

// maxRigPoints is how many clips a plot shows as points; of more it shows every so many.
const maxRigPoints = 250

// rigPlot lays out the plot of a term over the clips of a rig. It reports false where there is
// no history.
func (r *report) rigPlot(h history.History, s *history.Series, limits judge.Limits) (plot, bool) {
	if len(s.Stretches) == 0 {
		return plot{}, false
	}
	m, _ := r.lookup(s.Name)
	p := plot{Metric: m.Name, Title: judge.Label(m.Name), Unit: m.Unit,
		Width: plotWidth, Height: plotHeight,
		Left: plotLeft, Right: plotWidth - plotRight, Top: plotTop, Bottom: plotHeight - plotBottom}
	low, high := math.Inf(1), math.Inf(-1)
	known := 0
	for i, v := range s.Clips {
		if v.OK() {
			low, high = min(low, v.Value-2*v.SE), max(high, v.Value+2*v.SE)
			known++
		}
		if v := s.State[i]; v.OK() {
			low, high = min(low, v.Value), max(high, v.Value)
		}
	}
	bounds := boundsOf(m.Name, limits)
	p.Limits = limitLabel(m.Name, limits)
	y := newScale(low, high, m, bounds, p.Bottom, p.Top)
	p.addBounds(bounds, y)
	hours := h.Rig.Clips[len(h.Rig.Clips)-1].Hours
	if hours == 0 {
		hours = 1
	}
	x := func(at float64) float64 { return p.Left + at/hours*(p.Right-p.Left) }
	step, _ := timeStep(60 * hours)
	for minute := 0.0; minute <= 60*hours*(1+1e-9); minute += step {
		p.XTicks = append(p.XTicks, tick{At: place(x(minute / 60)), Text: clock(minute, 0) + " h", Last: p.Right-x(minute/60) < 16})
	}
	for _, t := range s.Stretches {
		from, to := x(h.Rig.Clips[t.From].Hours), x(h.Rig.Clips[t.To].Hours)
		p.Lines = append(p.Lines, place(from)+","+place(y.at(t.Start.Value))+" "+place(to)+","+place(y.at(t.End.Value)))
	}
	every := (known + maxRigPoints - 1) / maxRigPoints
	k := 0
	for i, v := range s.Clips {
		if !v.OK() {
			continue
		}
		if k++; k%every != 0 {
			continue
		}
		p.Points = append(p.Points, plotPoint{X: place(x(h.Rig.Clips[i].Hours)), Y: place(y.at(v.Value)),
			Low: place(y.at(v.Value - 2*v.SE)), High: place(y.at(v.Value + 2*v.SE)),
			Text: visible(h.Rig.Clips[i].Name()) + ": " + amountOf(m.Name, v)})
	}
	first, last := s.Stretches[0], s.Stretches[len(s.Stretches)-1]
	p.Summary = fmt.Sprintf("%s over the day, in %s: from %s to %s %s", p.Title, number.Counted(known, "clip", "clips"),
		format(m, first.Start.Value), format(m, last.End.Value), m.Unit)
	var changes []string
	for _, c := range s.Changes {
		if c.OfSlope {
			continue
		}
		kind := rowOf(c.Kind)
		changes = append(changes, fmt.Sprintf("%s of %s from %s to %s", kind, format(m, c.Size.Value), visible(h.Rig.Clips[c.From].Name()), visible(h.Rig.Clips[c.To].Name())))
	}
	if len(changes) > 0 {
		p.Summary += "; " + strings.Join(changes, "; ")
	}
	return p, true
}

// amountOf writes a value of a metric with its uncertainty and unit.
func amountOf(name string, v stat.Measurement) string {
	m, ok := metrics.Lookup(name)
	if !ok {
		return number.Digits(v.Value)
	}
	text := format(m, v.Value)
	if u := uncertain(v.SE, m.Decimals); u != "" {
		text += " ± " + u
	}
	return text + " " + m.Unit
}
