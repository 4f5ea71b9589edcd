package qc

import (
	"fmt"
	"math"
	"slices"
)

// room is how far the right eye's picture may be moved sideways, in % of its
// width and positive to the right, for the parallax to keep its limits: from low
// to high. Where low is above high the depth is larger than its budget by as
// much, and no move will do.
type room struct{ low, high float64 }

// parallaxRoom returns the room that the limits leave, those to warn included
// or not; false where parallax was not measured.
func parallaxRoom(r Record, limits []Limit, least Severity) (room, bool) {
	low, high := math.Inf(-1), math.Inf(1)
	for _, l := range limits {
		if l.Metric != "near_parallax" && l.Metric != "far_parallax" || l.Severity == Warn && least == Fail {
			continue
		}
		if l.Statistic == Drift || l.Statistic == Jump || l.Statistic == Across || l.Statistic == Next || l.Statistic == Day {
			continue
		}
		m := l.Statistic.Of(r, l.Metric)
		if !m.OK() {
			return room{}, false
		}
		low, high = max(low, l.Low-m.Value), min(high, l.High-m.Value)
	}
	return room{low, high}, true
}

// parallaxShift returns the least sideways move of the right eye, in % of the
// picture's width, that brings all statistics of parallax within their limits
// (Warn) or, where that is not to be had, within those to fail (Fail); and
// which of these it is. Where neither can be had, or parallax was not measured,
// that is empty.
func parallaxShift(r Record, limits []Limit) (shift float64, within Severity) {
	for _, least := range []Severity{Warn, Fail} {
		if m, ok := parallaxRoom(r, limits, least); ok && m.low <= m.high {
			return min(max(m.low, 0), m.high), least
		}
	}
	return 0, ""
}

// caution stands by every finding of too much parallax.
const caution = "It may strain the eyes or show double, in children first: have a qualified stereographer confirm it on a screen of the real size."

// mendParallax says whether a sideways shift brings both ends of the depth
// within the limits of the finding's screen, and what it costs; or how much
// closer together the cameras have to stand.
func (j *judging) mendParallax(f Finding) (Mend, string) {
	limits := Limits(j.limits).For(f.Limit.Screen)
	for _, l := range limits {
		if l.Metric == "near_parallax" || l.Metric == "far_parallax" {
			if _, missing := j.record.series(l.Metric); missing != "" {
				return NoMend, "Whether a sideways shift would help is open, since the " + words(l.Metric) + " could not be measured. " + caution
			}
		}
	}
	shift, within := parallaxShift(j.record, limits)
	if within == "" || within == Fail && f.Status == Warned {
		mend, none := NoMend, "No sideways shift brings both the nearest and the farthest things within limits"
		if f.Status == Failed {
			mend = Reshoot
		}
		return mend, none + j.tooDeep(limits, f.Status) + ". " + caution
	}
	if shift == 0 {
		return Post, "Shift the right eye's picture sideways in post if the stereographer asks for more distance to the limit. " + caution
	}
	to, bounds := "right", "limits"
	if shift < 0 {
		to = "left"
	}
	if within == Fail {
		bounds = "the limits to fail, though not those to warn"
	}
	text := fmt.Sprintf("Shifting the right eye's picture by %s %% of its width%s to the %s brings both ends within %s",
		digits(math.Abs(shift)), j.pixels(f.Limit, shift), to, bounds)
	if m, _ := parallaxRoom(j.record, limits, within); shift > 0 && !math.IsInf(m.high, 0) && m.high-shift >= 0.05 {
		text += fmt.Sprintf(", and up to %s %% would", digits(m.high))
	} else if shift < 0 && !math.IsInf(m.low, 0) && shift-m.low >= 0.05 {
		text += fmt.Sprintf(", and up to %s %% would", digits(-m.low))
	}
	return Post, text + fmt.Sprintf("; both eyes lose %s %% of the width by it. ", digits(math.Abs(shift))) + caution
}

// tooDeep says by how much the depth exceeds its budget and what that means for
// the cameras: the range of parallax grows with the distance between them,
// b·f·(1/near − 1/far).
func (j *judging) tooDeep(limits Limits, status Status) string {
	least := Warn
	if status == Failed {
		least = Fail
	}
	m, ok := parallaxRoom(j.record, limits, least)
	near, far := DepthRange(j.record)
	if !ok || !near.OK() || !far.OK() || !(m.low > m.high) {
		return "; have the stereographer decide"
	}
	all := far.Value - near.Value
	budget := all - (m.low - m.high)
	if all <= 0 || budget <= 0 {
		return "; have the stereographer decide"
	}
	text := fmt.Sprintf(": they are %s %% of the width apart, and the limits leave %s %%", digits(all), digits(budget))
	if status == Failed {
		text += fmt.Sprintf(". To be shot again with the cameras at most %s times as far apart", digits(math.Floor(100*budget/all)/100))
	}
	return text
}

// mendEdges says what hides what the side edges cut, at the moment where that is
// worst.
func (j *judging) mendEdges(f Finding) (Mend, string) {
	i := slices.IndexFunc(j.record.Moments, func(m Moment) bool { return m.Frame == f.Worst })
	if i < 0 {
		return Post, phrases[f.Limit.Metric].advice
	}
	text := ""
	for _, c := range j.record.Moments[i].EdgeViolations {
		eye, width := c.Mask()
		if eye == "" {
			text += fmt.Sprintf(" At the %s edge, from %s to %s %% of the width, something in front of the screen is cut too, which is felt less.",
				c.Edge, digits(c.From), digits(c.To))
			continue
		}
		text += fmt.Sprintf(" At the %s edge, from %s to %s %% of the height: mask that edge of the %s eye by %s %% of the width%s.",
			c.Edge, digits(c.From), digits(c.To), eye, digits(width), j.pixels(Limit{Metric: "near_parallax"}, width))
	}
	if text == "" {
		return Post, phrases[f.Limit.Metric].advice
	}
	return Post, "Shift the eyes sideways in post until it stands behind the screen, or float the window." + text
}
