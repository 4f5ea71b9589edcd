package judge

import (
	"fmt"
	"math"
	"slices"

	"nightpair/qc/number"
	"nightpair/qc/record"
	"nightpair/qc/series"
)

// room is how far the right eye's picture may be moved sideways, in % of its
// width and positive to the right, for the parallax to keep its limits: from low
// to high. Where low is above high the depth is larger than its budget by as
// much, and no move will do.
type room struct{ low, high float64 }

// parallaxRoom returns the room that the limits leave, those to warn included
// or not; false where parallax was not measured.
func parallaxRoom(r record.Record, limits []Limit, severity Severity) (room, bool) {
	low, high := math.Inf(-1), math.Inf(1)
	for _, l := range limits {
		if !slices.Contains(depthEnds(), l.Metric) || !l.Statistic.Level || l.Severity == Warn && severity == Fail {
			continue
		}
		m := l.of(r)
		if !m.OK() {
			return room{}, false
		}
		low, high = max(low, l.Low-m.Value), min(high, l.High-m.Value)
	}
	return room{low, high}, true
}

// parallaxShift returns the smallest sideways move of the right eye, in % of the
// picture's width, that brings all statistics of parallax within their limits
// (Warn) or, where that is not to be had, within those to fail (Fail); and
// which of these it is. Where neither can be had, or parallax was not measured,
// that is empty.
func parallaxShift(r record.Record, limits []Limit) (shift float64, within Severity) {
	for _, severity := range []Severity{Warn, Fail} {
		if m, ok := parallaxRoom(r, limits, severity); ok && m.low <= m.high {
			return min(max(m.low, 0), m.high), severity
		}
	}
	return 0, ""
}

// caution stands by every finding of too much parallax.
const caution = "It may strain the eyes or show double, in children first: have a qualified stereographer confirm it on a screen of the real size."

// mendParallax says whether a sideways shift brings both ends of the depth
// within the limits of the finding's screen; or how much closer together the cameras
// have to stand.
func mendParallax(c judgedClip, f Finding) (Mend, string, bool) {
	limits := Limits(c.limits).onScreen(f.Limit.Screen)
	if name := c.missingEnd(limits); name != "" {
		return NoMend, "Whether a shift would help is open, since the " + Label(name) + " could not be measured.", true
	}
	shift, within := parallaxShift(c.record, limits)
	if within == "" || within == Fail && f.Status == Warned {
		const none = "No sideways shift brings both the nearest and the farthest things within limits"
		if f.Status != Failed {
			return NoMend, none + ": have the stereographer decide.", true
		}
		if all, budget, ok := c.depthBudget(limits, f.Status); ok {
			return Reshoot, fmt.Sprintf("%s: shoot it again with the cameras at most %s times as far apart.", none, number.Digits(math.Floor(100*budget/all)/100)), true
		}
		return Reshoot, none + ": have the stereographer decide.", true
	}
	if shift == 0 {
		return Post, "Shift the right eye sideways in post if the stereographer asks for more distance to the limit.", true
	}
	to, bounds := "right", "limits"
	if shift < 0 {
		to = "left"
	}
	if within == Fail {
		bounds = "the limits to fail, though not those to warn"
	}
	return Post, fmt.Sprintf("Shift the right eye %s to the %s in post, which brings both ends within %s.", c.across(math.Abs(shift)), to, bounds), true
}

// missingEnd returns the end of the depth that limits are on but that was not measured;
// empty where there is none.
func (c judgedClip) missingEnd(limits Limits) string {
	for _, l := range limits {
		if slices.Contains(depthEnds(), l.Metric) {
			if _, missing := series.OfMoments(c.record, l.Metric); missing != "" {
				return l.Metric
			}
		}
	}
	return ""
}

// across writes a part of the picture's width.
func (c judgedClip) across(percent float64) string {
	return amount(record.ParallaxUnit, c.record.Header.Extent(record.ParallaxUnit), percent)
}

// notesOnParallax says what a shift costs and how much more of it would do, or by how
// much the depth is too large.
func notesOnParallax(c judgedClip, f Finding) []string {
	if !f.Limit.Statistic.Level {
		return nil
	}
	limits := Limits(c.limits).onScreen(f.Limit.Screen)
	if c.missingEnd(limits) != "" {
		return []string{caution}
	}
	shift, within := parallaxShift(c.record, limits)
	if within == "" || within == Fail && f.Status == Warned {
		if all, budget, ok := c.depthBudget(limits, f.Status); ok {
			return []string{fmt.Sprintf("The nearest and the farthest things are %s of the width apart, and the limits leave %s.", c.across(all), c.across(budget)), caution}
		}
		return []string{caution}
	}
	if shift == 0 {
		return []string{caution}
	}
	notes := []string{fmt.Sprintf("Both eyes lose %s of the width by the shift.", c.across(math.Abs(shift)))}
	room, _ := parallaxRoom(c.record, limits, within)
	farthest := room.high
	if shift < 0 {
		farthest = room.low
	}
	if !math.IsInf(farthest, 0) && math.Abs(farthest-shift) >= 0.05 {
		notes = append(notes, fmt.Sprintf("A shift of up to %s would do.", c.across(math.Abs(farthest))))
	}
	return append(notes, caution)
}

// depthBudget returns how large the depth is and how large the limits let it be, in % of
// the width; false where that does not tell. The range of parallax grows with the distance
// between the cameras, b·f·(1/near − 1/far).
func (c judgedClip) depthBudget(limits Limits, status Status) (all, budget float64, ok bool) {
	severity := Warn
	if status == Failed {
		severity = Fail
	}
	m, ok := parallaxRoom(c.record, limits, severity)
	near, far := DepthRange(c.record)
	if !ok || !near.OK() || !far.OK() || !(m.low > m.high) {
		return 0, 0, false
	}
	all = far.Value - near.Value
	budget = all - (m.low - m.high)
	return all, budget, all > 0 && budget > 0
}

// notesOnEdges says what hides the violations at the side edges, at the moment where that is
// worst.
func notesOnEdges(c judgedClip, f Finding) []string {
	i := slices.IndexFunc(c.record.Moments, func(m record.Moment) bool { return m.Frame == f.Worst })
	if i < 0 {
		return nil
	}
	var notes []string
	for _, edge := range c.record.Moments[i].EdgeViolations {
		eye, width := edge.Mask()
		if eye == "" {
			notes = append(notes, fmt.Sprintf("At the %s edge, from %s to %s %% of the width, something in front of the screen is truncated too, which is felt less.",
				edge.Edge, number.Digits(edge.From), number.Digits(edge.To)))
			continue
		}
		notes = append(notes, fmt.Sprintf("At the %s edge, from %s to %s %% of the height: mask that edge of the %s eye by %s.",
			edge.Edge, number.Digits(edge.From), number.Digits(edge.To), eye, c.across(width)))
	}
	return notes
}
