package judge

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"nightpair/qc/number"
	"nightpair/qc/screen"
)

// Limit is a row of a limits file: a range that a statistic of a metric has to
// keep.
type Limit struct {
	Metric    string
	Statistic *Statistic
	Low, High float64  // −Inf and +Inf where a side is open
	Severity  Severity // what it means to leave the range
	// Seconds is for how long the range must be left to count, of a stretch or of what a change
	// leads from and to; 0 for other statistics.
	Seconds float64
	Source  string // who says so
	// Unit is the unit of Low and High: the metric's own, or one that takes a
	// screen to be turned into it.
	Unit Unit
	// Written is how the file puts a limit whose unit took a screen, such as
	// "60 arcmin"; empty for the others.
	Written string
	// Screen names the screen that such a limit was worked out for, where there
	// are several; empty otherwise.
	Screen string
}

// Severity is what a limit means when it is exceeded.
type Severity string

const (
	Warn Severity = "warn"
	Fail Severity = "fail"
)

// Unit is the unit of a limit's numbers.
type Unit string

const (
	MetricUnit  Unit = ""       // the metric's own
	Arcmin      Unit = "arcmin" // of parallax, seen from the seat
	Millimetres Unit = "mm"     // of parallax, on the screen
)

// Limits is a set of limits, in the order of its file.
type Limits []Limit

// On returns the limits for one or more screens, with all numbers in the units
// of their metrics. Limits that take a screen come once for each. Those that
// cannot be judged there are left out, and each is told in a note: millimetres
// mean nothing where a picture is known by its angle alone.
func (l Limits) On(screens ...screen.Screen) (judged Limits, notes []string) {
	for _, limit := range l {
		if limit.Unit == MetricUnit {
			judged = append(judged, limit)
			continue
		}
		for _, s := range screens {
			on, ok := limit.on(s)
			if !ok {
				note := fmt.Sprintf("%s is not held against %s: that needs the width of the screen (--screen)", limit.Metric, limit.bounds())
				if !slices.Contains(notes, note) {
					notes = append(notes, note)
				}
				continue
			}
			if len(screens) > 1 {
				on.Screen = s.Name()
			}
			judged = append(judged, on)
		}
	}
	return judged, notes
}

// on returns the limit in the unit of its metric, or false where the screen
// does not tell.
func (l Limit) on(s screen.Screen) (Limit, bool) {
	percent := 1 / s.ArcminPerPercent()
	if l.Unit == Millimetres {
		mm, ok := s.MillimetresPerPercent()
		if !ok {
			return l, false
		}
		percent = 1 / mm
	}
	l.Written = l.bounds()
	l.Low *= percent
	l.High *= percent
	l.Unit = MetricUnit
	return l, true
}

// onScreen returns the limits that hold on the screen of that name: its own and
// those that take none.
func (l Limits) onScreen(screen string) Limits {
	return slices.DeleteFunc(slices.Clone(l), func(limit Limit) bool {
		return limit.Screen != "" && limit.Screen != screen
	})
}

// bounds writes the range in the limit's own numbers, such as "60 arcmin" or
// "-1 to 1".
func (l Limit) bounds() string {
	write := func(v float64) string {
		return number.Minus(strconv.FormatFloat(v, 'f', -1, 64))
	}
	text := write(l.Low) + " to " + write(l.High)
	switch {
	case math.IsInf(l.Low, -1):
		text = write(l.High)
	case math.IsInf(l.High, 1):
		text = write(l.Low)
	case l.Low == l.High:
		text = write(l.Low)
	}
	if l.Unit != MetricUnit {
		text += " " + string(l.Unit)
	}
	return text
}

// excess says by how much a value leaves the range; negative within it.
func (l Limit) excess(value float64) float64 {
	return max(l.Low-value, value-l.High)
}

// bound returns the end of the range that the value exceeds, or is nearest to.
func (l Limit) bound(value float64) float64 {
	if l.Low-value > value-l.High {
		return l.Low
	}
	return l.High
}
