package qc

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"nightpair/metrics"
)

// parallaxUnit is the unit of the metrics whose limits may be in arcmin or mm.
const parallaxUnit = "% of picture width"

// ParseLimits reads a limits file: CSV with the columns metric, statistic, low,
// high, severity and source, where lines that start with # are comments. The
// name opens the error messages, which tell line and reason of everything that
// is wrong.
func ParseLimits(r io.Reader, name string) (Limits, error) {
	table, err := readTable(r, name, []string{"metric", "statistic", "low", "high", "severity", "source"}, nil)
	if err != nil {
		return nil, err
	}
	var limits Limits
	var problems []error
	for _, row := range table {
		limit, err := parseLimit(row.at)
		if err != nil {
			problems = append(problems, fmt.Errorf("%s:%d: %w", name, row.line, err))
			continue
		}
		limits = append(limits, limit)
	}
	if err := errors.Join(problems...); err != nil {
		return nil, err
	}
	if len(limits) == 0 {
		return nil, fmt.Errorf("%s: no limits in it", name)
	}
	return limits, nil
}

func parseLimit(cell map[string]string) (Limit, error) {
	l := Limit{
		Metric: cell["metric"], Statistic: Statistic(strings.ToLower(cell["statistic"])),
		Severity: Severity(strings.ToLower(cell["severity"])), Source: cell["source"],
	}
	if !slices.Contains(statistics, l.Statistic) {
		return l, fmt.Errorf("unknown statistic %q (%s)", cell["statistic"], joined(statistics))
	}
	isParallax := false
	if l.Statistic == Fact {
		if _, ok := LookupFact(l.Metric); !ok {
			return l, fmt.Errorf("unknown fact %q", l.Metric)
		}
	} else {
		m, ok := metrics.Lookup(l.Metric)
		if _, isFact := LookupFact(l.Metric); !ok && isFact {
			return l, fmt.Errorf("%s is a fact: its statistic is fact", l.Metric)
		}
		if !ok {
			return l, fmt.Errorf("unknown metric %q", l.Metric)
		}
		isParallax = m.Unit == parallaxUnit
	}
	if (l.Statistic == Across || l.Statistic == Next) && l.Metric != "near_parallax" && l.Metric != "far_parallax" {
		return l, fmt.Errorf("%s is not measured beside cuts: of those near_parallax and far_parallax tell", l.Metric)
	}
	if l.Statistic == OnCharts && l.Metric != "focus_parallax" {
		return l, fmt.Errorf("%s does not tell of charts: focus_parallax does", l.Metric)
	}
	if l.Severity != Warn && l.Severity != Fail {
		return l, fmt.Errorf("unknown severity %q (%s, %s)", cell["severity"], Warn, Fail)
	}
	low, lowUnit, err := parseBound(cell["low"], math.Inf(-1))
	if err != nil {
		return l, fmt.Errorf("low: %w", err)
	}
	high, highUnit, err := parseBound(cell["high"], math.Inf(1))
	if err != nil {
		return l, fmt.Errorf("high: %w", err)
	}
	l.Low, l.High, l.Unit = low, high, lowUnit
	if cell["low"] == "" {
		l.Unit = highUnit
	}
	switch {
	case cell["low"] == "" && cell["high"] == "":
		return l, errors.New("neither low nor high is given")
	case cell["low"] != "" && cell["high"] != "" && lowUnit != highUnit:
		return l, fmt.Errorf("low and high in unlike units: %s and %s", cell["low"], cell["high"])
	case l.Unit != MetricUnit && !isParallax:
		return l, fmt.Errorf("%s is not measured in %s: give the number alone", l.Metric, l.Unit)
	case low > high:
		return l, fmt.Errorf("low %s is above high %s", cell["low"], cell["high"])
	}
	return l, nil
}

// parseBound reads a number with or without a unit; open is what an empty cell
// means.
func parseBound(cell string, open float64) (float64, Unit, error) {
	if cell == "" {
		return open, MetricUnit, nil
	}
	number, unit := cell, MetricUnit
	for _, u := range []Unit{Arcmin, Millimetres} {
		if before, found := strings.CutSuffix(cell, string(u)); found {
			number, unit = strings.TrimSpace(before), u
		}
	}
	v, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, "", fmt.Errorf("%q is not a number, nor one in %s or %s", cell, Arcmin, Millimetres)
	}
	return v, unit, nil
}

func joined[T ~string](words []T) string {
	text := make([]string, len(words))
	for i, w := range words {
		text[i] = string(w)
	}
	return strings.Join(text, ", ")
}
