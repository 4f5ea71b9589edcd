package history

import (
	"cmp"
	"math"
	"slices"

	"nightpair/metrics"
	"nightpair/qc/record"
)

// History is what happened to one rig over its clips.
type History struct {
	Rig    Rig
	Series []*Series // in the order of Terms
	Events []Event   // in the order of the clips
}

// Event is what changed at one place of the day.
type Event struct {
	Kind EventKind
	// From and To are the clips as in Change.
	From, To int
	Parts    []Part
}

// Part is the change of one term in an event.
type Part struct {
	Series *Series
	Change
}

// Name returns the metric that changed: that of the term, or of what it changes by with
// parallax; empty where there is none.
func (p Part) Name() string {
	if p.OfSlope {
		return p.Series.slope
	}
	return p.Series.Name
}

// EventKind says what an event is taken for.
type EventKind uint8

const (
	Knocked     EventKind = iota // the geometry stepped
	Realigned                    // it stepped, and to the better in each term
	Relensed                     // the sizes stepped: a lens, its focal length or a camera's place
	Reset                        // light, focus or timing stepped
	Crept                        // something crept
	OutOfSquare                  // something goes with toe-in
	Converged                    // the toe-in stepped, and perhaps other terms with it
)

// String names what an event is taken for.
func (k EventKind) String() string {
	return [...]string{"knock", "realignment", "lens", "setting", "creep", "axis", "convergence"}[k]
}

// FollowAll follows every rig of a day.
func FollowAll(records []record.Record) []History {
	var all []History
	for _, r := range Rigs(records) {
		all = append(all, Follow(r))
	}
	return all
}

// Follow finds the history of a rig.
func Follow(r Rig) History {
	h := History{Rig: r}
	var toeIn []observation
	for _, t := range Terms {
		if t.Name == metrics.Keystone {
			toeIn = observe(r, t)
		}
	}
	for _, t := range Terms {
		h.Series = append(h.Series, follow(r, t, toeIn))
	}
	h.align()
	h.events()
	return h
}

// Of returns the history of a term by its name.
func (h History) Of(name string) *Series {
	for _, s := range h.Series {
		if s.Name == name {
			return s
		}
	}
	return nil
}

// Steps of several terms within so many clips of each other are taken for one event where the
// clips hardly speak against it, by so much of the sum of squares for each term. The project's
// own choice.
const (
	nearby  = 2
	against = 4
)

// align moves steps of several terms that lie nearly at the same place to the one place that
// costs all of them least.
func (h *History) align() {
	type boundary struct {
		s *Series
		k int // between parts k−1 and k
	}
	var all []boundary
	for _, s := range h.Series {
		for k := 1; k < len(s.parts); k++ {
			if !s.parts[k-1].creeps && !s.parts[k].creeps {
				all = append(all, boundary{s, k})
			}
		}
	}
	clip := func(b boundary) int { return b.s.at[b.s.parts[b.k].from] }
	slices.SortStableFunc(all, func(a, b boundary) int { return cmp.Compare(clip(a), clip(b)) })
	for from := 0; from < len(all); {
		to := from + 1
		for to < len(all) && clip(all[to])-clip(all[from]) <= nearby {
			to++
		}
		group := all[from:to]
		from = to
		if len(group) < 2 || clip(group[0]) == clip(group[len(group)-1]) {
			continue
		}
		best, place, now := math.Inf(1), 0, 0.0
		for at := clip(group[0]); at <= clip(group[len(group)-1]); at++ {
			sum := 0.0
			for _, b := range group {
				sum += b.s.costOfMoving(b.k, at)
			}
			if sum < best {
				best, place = sum, at
			}
		}
		for _, b := range group {
			now += b.s.costOfMoving(b.k, clip(b))
		}
		if best-now > against*float64(len(group)) {
			continue
		}
		for _, b := range group {
			i, _ := slices.BinarySearch(b.s.at, place)
			b.s.parts[b.k-1].to, b.s.parts[b.k].from = i, i
		}
	}
	for _, s := range h.Series {
		if len(s.parts) > 1 {
			s.join()
		}
	}
}

// costOfMoving returns what the parts on both sides of a boundary cost with it before a clip.
func (s *Series) costOfMoving(k, clip int) float64 {
	i, _ := slices.BinarySearch(s.at, clip)
	a, b := s.parts[k-1], s.parts[k]
	if i <= a.from || i >= b.to {
		return math.Inf(1)
	}
	before, after := s.sums[i].less(&s.sums[a.from]), s.sums[b.to].less(&s.sums[i])
	return before.cost(s.prior, a.free()) + after.cost(s.prior, b.free())
}

// events gathers the changes of all terms.
func (h *History) events() {
	var parts []Part
	for _, s := range h.Series {
		for _, c := range s.Changes {
			parts = append(parts, Part{s, c})
		}
	}
	slices.SortStableFunc(parts, func(a, b Part) int {
		return cmp.Or(cmp.Compare(a.Change.Kind, b.Change.Kind), cmp.Compare(a.To, b.To))
	})
	for _, p := range parts {
		n := len(h.Events) - 1
		if p.Change.Kind == Step && n >= 0 && h.Events[n].Kind == Knocked && p.From < h.Events[n].To {
			e := &h.Events[n]
			e.From, e.To = max(e.From, p.From), min(e.To, p.To)
			e.Parts = append(e.Parts, p)
			continue
		}
		kind := map[Kind]EventKind{Step: Knocked, Creep: Crept, WithToeIn: OutOfSquare}[p.Change.Kind]
		h.Events = append(h.Events, Event{Kind: kind, From: p.From, To: p.To, Parts: []Part{p}})
	}
	for i := range h.Events {
		if h.Events[i].Kind == Knocked {
			h.Events[i].Kind = h.Events[i].stepped()
		}
	}
	// What creeps while the toe-in does goes with it.
	for _, turn := range h.Events {
		if turn.Kind != Crept || turn.Parts[0].Series.Name != metrics.Keystone {
			continue
		}
		for i := range h.Events {
			if e := &h.Events[i]; e.Kind == Crept && e.From < turn.To && turn.From < e.To && e.Parts[0].Series.Rig {
				e.Kind = Converged
			}
		}
	}
	slices.SortStableFunc(h.Events, func(a, b Event) int { return cmp.Compare(a.To, b.To) })
}

// stepped says what a step is taken for.
func (e Event) stepped() EventKind {
	geometry, better := 0, 0
	if slices.ContainsFunc(e.Parts, func(p Part) bool { return p.Series.Name == metrics.Keystone && !p.OfSlope }) {
		return Converged
	}
	for _, p := range e.Parts {
		if !p.Series.Rig {
			continue
		}
		if p.Series.Name == metrics.Zoom && !p.OfSlope {
			return Relensed
		}
		geometry++
		if math.Abs(p.After)+record.Sure*p.Size.SE < math.Abs(p.Before) {
			better++
		}
	}
	switch {
	case geometry == 0:
		return Reset
	case better == geometry:
		return Realigned
	}
	return Knocked
}
