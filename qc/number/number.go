package number

import (
	"math"
	"strconv"
	"strings"
)

// Plain writes a number for readers with so many decimals. Zero has no sign.
func Plain(v float64, decimals int) string { return Minus(Fixed(v, decimals)) }

// Signed writes a number whose sign says something, for readers: with a plus where it
// is positive as written.
func Signed(v float64, decimals int) string {
	s := Plain(v, decimals)
	if v > 0 && strings.Trim(s, "0.") != "" {
		return "+" + s
	}
	return s
}

// Digits writes a number for readers with three digits, or all those before the point,
// and no zeros at its end.
func Digits(v float64) string {
	decimals := 0
	if v != 0 {
		decimals = min(max(2-int(math.Floor(math.Log10(math.Abs(v)))), 0), 6)
	}
	return Minus(Cell(v, decimals))
}

// Minus puts true minus signs for the hyphens of a number.
func Minus(s string) string { return strings.ReplaceAll(s, "-", "\u2212") }

// Counted writes a count with its noun.
func Counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// Fixed writes a number for scripts with exactly so many decimals. Zero has no sign.
func Fixed(v float64, decimals int) string {
	text := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		return strings.TrimPrefix(text, "-")
	}
	return text
}

// Cell writes a number for scripts with at most that many decimals, in the shortest
// form that reads back as the rounded value. Zero has no sign.
func Cell(v float64, decimals int) string {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'f', decimals, 64), 64)
	if r == 0 {
		return "0"
	}
	return strconv.FormatFloat(r, 'f', -1, 64)
}

// CellSE writes a standard error like Cell, but never lets rounding claim that a value
// is exact: what would become 0 keeps two significant digits.
func CellSE(se float64, decimals int) string {
	if se > 0 && se < 0.5*math.Pow(10, -float64(decimals)) {
		r, _ := strconv.ParseFloat(strconv.FormatFloat(se, 'e', 1, 64), 64)
		return strconv.FormatFloat(r, 'f', -1, 64)
	}
	return Cell(se, decimals)
}
