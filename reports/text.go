package reports

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"nightpair/metrics"
	"nightpair/qc/judge"
	"nightpair/qc/number"
)

// visible makes the control characters of a name visible, which file systems
// allow and which pages may not hold, takes out those that turn the direction
// of writing, and mends broken UTF-8.
func visible(s string) string {
	return strings.Map(func(r rune) rune {
		const controlPictures = 0x2400 // Unicode block Control Pictures
		switch {
		case r < 0x20:
			return controlPictures + r
		case r == 0x7f:
			return '\u2421'
		case unicode.IsControl(r), r == 0xfffe, r == 0xffff,
			r >= '\u202a' && r <= '\u202e', r >= '\u2066' && r <= '\u2069':
			return unicode.ReplacementChar
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
}

// format writes a value of a metric as its kind wants it: with a plus sign
// where exchanging the eyes would change the sign.
func format(m metrics.Metric, v float64) string {
	if m.Swap == metrics.SwapKeep {
		return number.Plain(v, m.Decimals)
	}
	return number.Signed(v, m.Decimals)
}

// uncertain writes two standard errors, the range that holds the truth in
// about 19 of 20 cases; empty where the value is exact.
func uncertain(se float64, decimals int) string {
	u := 2 * se
	if u == 0 {
		return ""
	}
	if u < 0.5*math.Pow(10, -float64(decimals)) {
		return strconv.FormatFloat(u, 'f', int(math.Ceil(-math.Log10(u))), 64)
	}
	return number.Plain(u, decimals)
}

// within puts the range of a limit into words.
func within(l judge.Limit) string {
	switch noLow, noHigh := open(l.Low), open(l.High); {
	case noLow && noHigh:
		return ""
	case noLow:
		return "at most " + bound(l.High)
	case noHigh:
		return "at least " + bound(l.Low)
	case l.Low == l.High:
		return "exactly " + bound(l.Low)
	default:
		return bound(l.Low) + " to " + bound(l.High)
	}
}

// outside puts into words when a limit is exceeded.
func outside(l judge.Limit) string {
	switch noLow, noHigh := open(l.Low), open(l.High); {
	case noLow && noHigh:
		return ""
	case noLow:
		return "above " + bound(l.High)
	case noHigh:
		return "below " + bound(l.Low)
	default:
		return "outside " + bound(l.Low) + " to " + bound(l.High)
	}
}

// open reports whether a bound is none.
func open(bound float64) bool { return math.IsInf(bound, 0) }

// bound writes a limit with as many decimals as it has, up to those of a limit
// that was worked out for a screen.
func bound(v float64) string {
	return number.Minus(number.Cell(v, boundDecimals))
}

// boundDecimals is enough for a limit in percent of a width of 16384 pixels to
// mean the same pixel.
const boundDecimals = 3

func mendPhrase(m judge.Mend) string {
	switch m {
	case judge.Post:
		return "Can be put right in the edit."
	case judge.Reshoot:
		return "Has to be shot again."
	case judge.Rig:
		return "The rig crew should realign."
	default:
		return ""
	}
}

// statusWord is the word of a judgement as the pages say it.
func statusWord(s judge.Status) string {
	switch s {
	case judge.Failed:
		return "fail"
	case judge.Warned:
		return "warn"
	case judge.Passed:
		return "pass"
	default:
		return "not measured"
	}
}

// statusGlyph is a second sign beside the word, of a different shape for each
// judgement, for those who skim.
func statusGlyph(s judge.Status) string {
	switch s {
	case judge.Failed:
		return "\u00d7"
	case judge.Warned:
		return "!"
	case judge.Passed:
		return "\u2713"
	default:
		return "?"
	}
}

// clock writes a time since the beginning of a clip as minutes and seconds,
// with tenths where asked.
func clock(seconds float64, decimals int) string {
	pow := math.Pow(10, float64(decimals))
	seconds = math.Round(seconds*pow) / pow
	minutes := math.Floor(seconds / 60)
	rest := strconv.FormatFloat(seconds-60*minutes, 'f', decimals, 64)
	if seconds-60*minutes < 10 {
		rest = "0" + rest
	}
	return strconv.Itoa(int(minutes)) + ":" + rest
}

// span writes how long something takes.
func span(seconds float64) string {
	if seconds < 59.95 {
		return number.Plain(seconds, 1) + " s"
	}
	return clock(seconds, 0) + " min"
}

// short reports whether a unit fits behind its value on one line.
func short(unit string) bool {
	const fits = 8 // letters
	return utf8.RuneCountInString(unit) <= fits
}
