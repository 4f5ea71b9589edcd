package judge

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"nightpair/metrics"
	"nightpair/qc/number"
	"nightpair/qc/record"
)

// worded puts a finding into words: what is wrong, who mends it and how, and what else
// the clip tells of it. A statistic says so in its own way or leaves it to the phrase of
// the metric; a cause that was found has a phrase of its own.
func (c judgedClip) worded(f Finding) Finding {
	if f.Status == Unmeasured {
		names := []string{Label(f.Limit.Metric)}
		for _, name := range f.Also {
			names = append(names, Label(name))
		}
		f.Detail = sentence(fmt.Sprintf("%s could not be judged: %s", strings.Join(names, ", "), f.Missing))
		return f
	}
	p, s := phrases[f.Limit.Metric], *f.Limit.Statistic
	if f.cause != noCause {
		p, s = causes[f.cause], Statistic{}
	}
	text, advice := p.wrong(c, f), p.advice
	if s.say != nil {
		text = s.say(c, f)
	}
	f.Mend = p.mend
	for _, remedy := range []remedy{s.remedy, p.remedy} {
		if remedy == nil {
			continue
		}
		if mend, how, ok := remedy(c, f); ok {
			f.Mend, advice = mend, how
			break
		}
	}
	for _, notes := range []func(judgedClip, Finding) []string{p.notes, s.notes} {
		if notes != nil {
			f.Notes = append(f.Notes, notes(c, f)...)
		}
	}
	if f.Open() && f.cause == noCause {
		text += fmt.Sprintf(" (known to ±%s)", number.Digits(record.Sure*f.SE)+shortUnit(f.Unit))
	}
	if p.ofLight && c.record.LogCurve() {
		text += " (in code values of a log curve, not in light)"
	}
	if outOfTime(c.record.Header.Sync, f.Limit, f.measured()) {
		f.Notes = append(f.Notes, advice)
		advice = "Check genlock first: the picture moves so steadily that eyes out of sync would look the same."
	}
	f.Detail = f.detail(text, advice)
	return f
}

// detail makes the two sentences of a finding.
func (f Finding) detail(text, advice string) string {
	if f.Limit.Screen != "" {
		text = "on " + f.Limit.Screen + ", " + text
	}
	if advice == "" {
		return sentence(text)
	}
	return sentence(text) + " " + advice
}

// wrong says what is wrong.
func (p phrase) wrong(c judgedClip, f Finding) string {
	switch {
	case p.say != nil:
		return p.say(c, f)
	case p.positive == "":
		return fmt.Sprintf("%s is %s", Label(f.Limit.Metric), f.signedAmount(f.Value))
	case f.Value < 0 && p.negative != "":
		return strings.Replace(p.negative, "%s", f.amount(-f.Value), 1)
	}
	return strings.Replace(p.positive, "%s", f.amount(math.Abs(f.Value)), 1)
}

// amount writes a value of a finding's metric with its unit.
func (f Finding) amount(value float64) string { return amount(f.Unit, f.Extent, value) }

func (f Finding) signedAmount(value float64) string {
	if value > 0 {
		return "+" + f.amount(value)
	}
	return f.amount(value)
}

// amount writes a value with its unit: what is a part of the picture in pixels and per
// cent, where extent tells how many pixels are all of it.
func amount(unit string, extent int, value float64) string {
	switch {
	case extent > 0:
		px := value / 100 * float64(extent)
		decimals := 0
		if math.Abs(px) < 10 {
			decimals = 1
		}
		_, where, _ := strings.Cut(unit, ",") // such as at the corner
		return fmt.Sprintf("%s px (%s %%)%s", number.Plain(px, decimals), number.Digits(math.Abs(value)), where)
	case unit == "":
		return number.Digits(value)
	case unit == "°":
		return number.Digits(value) + unit
	case value == 1 && !strings.HasPrefix(unit, "%"):
		unit = strings.TrimSuffix(unit, "s") // 1 frame
	}
	return number.Digits(value) + " " + unit
}

// unitOf returns the unit of a metric or fact.
func unitOf(name string) string {
	if m, ok := metrics.Lookup(name); ok {
		return m.Unit
	}
	fact, _ := LookupFact(name)
	return fact.Unit
}

// shortUnit is a unit as it stands behind a number whose unit was told before.
func shortUnit(unit string) string {
	switch {
	case strings.HasPrefix(unit, "%"):
		return " %"
	case unit == "" || unit == "°":
		return unit
	}
	return " " + unit
}

// Label turns the name of a metric or fact into words.
func Label(name string) string { return strings.ReplaceAll(name, "_", " ") }

// sentence puts a capital at the start and a full stop at the end.
func sentence(s string) string {
	r, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return s
	}
	s = string(unicode.ToUpper(r)) + s[size:]
	if strings.HasSuffix(s, ".") {
		return s
	}
	return s + "."
}
