package judge

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"nightpair/metrics"
	"nightpair/qc/nearest"
	"nightpair/qc/record"
	"nightpair/qc/table"
)

// ParseLimits reads a limits file: CSV with the columns metric, statistic, low,
// high, severity and source, and maybe seconds, where lines that start with # are
// comments. The name opens the error messages, which tell line and reason of everything that
// is wrong; the names that there are follow where one is unknown.
func ParseLimits(r io.Reader, name string) (Limits, error) {
	table, err := table.Read(r, name, []string{"metric", "statistic", "low", "high", "severity", "source"}, []string{"seconds"})
	if err != nil {
		return nil, err
	}
	var limits Limits
	var problems, known []error
	for _, row := range table {
		limit, err := parseLimit(row.Cells)
		if err != nil {
			problems = append(problems, fmt.Errorf("%s:%d: %w", name, row.Line, err))
		}
		if u, ok := errors.AsType[unknownName](err); ok {
			list := fmt.Sprintf("the %ss are %s", u.kind, strings.Join(u.names, ", "))
			if !slices.ContainsFunc(known, func(err error) bool { return err.Error() == list }) {
				known = append(known, errors.New(list))
			}
		}
		limits = append(limits, limit)
	}
	if err := errors.Join(append(problems, known...)...); err != nil {
		return nil, err
	}
	if len(limits) == 0 {
		return nil, fmt.Errorf("%s: no limits in it", name)
	}
	return limits, nil
}

// unknownName is a name in a limits file that is none of its kind.
type unknownName struct {
	kind, name string
	names      []string // that there are
}

func (u unknownName) Error() string {
	if near := nearest.Name(u.name, u.names); near != "" {
		return fmt.Sprintf("unknown %s %q; did you mean %s?", u.kind, u.name, near)
	}
	return fmt.Sprintf("unknown %s %q", u.kind, u.name)
}

// maxSeconds is the longest that a limit may be exceeded.
const maxSeconds = 3600

func parseLimit(cell map[string]string) (Limit, error) {
	l := Limit{Metric: cell["metric"], Severity: Severity(strings.ToLower(cell["severity"])), Source: cell["source"]}
	var ok bool
	if l.Statistic, ok = lookupStatistic(strings.ToLower(cell["statistic"])); !ok {
		return l, unknownName{"statistic", cell["statistic"], statisticNames()}
	}
	if err := l.Statistic.takes(l.Metric); err != nil {
		return l, err
	}
	if l.Severity != Warn && l.Severity != Fail {
		return l, fmt.Errorf("unknown severity %q (%s, %s)", cell["severity"], Warn, Fail)
	}
	if l.Statistic.lasts {
		l.Seconds = stretchSeconds
	}
	if text := cell["seconds"]; text != "" {
		seconds, err := strconv.ParseFloat(text, 64)
		switch {
		case !l.Statistic.lasts:
			return l, fmt.Errorf("seconds are for the statistics %s and %s alone", Stretch, Change)
		case err != nil || !(seconds > 0 && seconds <= maxSeconds):
			return l, fmt.Errorf("seconds: %q is not a number above 0 and up to %d", text, maxSeconds)
		}
		l.Seconds = seconds
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
	case l.Unit != MetricUnit && unitOf(l.Metric) != record.ParallaxUnit:
		return l, fmt.Errorf("%s is not measured in %s: give the number alone", l.Metric, l.Unit)
	case low > high:
		return l, fmt.Errorf("low %s is above high %s", cell["low"], cell["high"])
	}
	return l, nil
}

// takes says why there is no such statistic of a metric or fact; nil where there is.
func (s *Statistic) takes(name string) error {
	_, isMetric := metrics.Lookup(name)
	_, isFact := LookupFact(name)
	switch {
	case slices.Contains(s.Names(), name):
		return nil
	case isFact:
		return fmt.Errorf("%s is a fact: its statistic is %s", name, Fact)
	case isMetric && s == Fact:
		return fmt.Errorf("%s is a metric: its statistic is not %s", name, Fact)
	case isMetric:
		return fmt.Errorf("%s is not judged by the statistic %s, but only %s", name, s, strings.Join(s.Names(), ", "))
	case s == Fact:
		return unknownName{"fact", name, factNames()}
	}
	return unknownName{"metric", name, metricNames()}
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
