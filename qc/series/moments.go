package series

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// What a clip has to show before anything is said of it: the project's own
// choice. A clip for which fewer moments were planned is judged by what it has.
const (
	minMoments     = 3
	minMomentShare = 0.25 // of the moments that were looked at
)

// Moments is what was measured of one metric, moment by moment.
type Moments struct {
	Moment     []int // indices into the record's moments
	time       []float64
	Value, err []float64 // values and their standard errors
}

// OfMoments gathers a metric's values at the moments of the plan, which are spread evenly, or
// says why they are too few.
func OfMoments(r record.Record, metric string) (Moments, string) {
	return moments(r, metric, func(m record.Moment) bool { return !m.Added })
}

// moments gathers a metric's values at some of the moments.
func moments(r record.Record, metric string, counts func(record.Moment) bool) (Moments, string) {
	var s Moments
	reasons := map[string]int{}
	all := 0
	for i, m := range r.Moments {
		if !counts(m) {
			continue
		}
		all++
		v, ok := m.Values[metric]
		switch {
		case !ok:
			reasons["it was not measured"]++
		case !v.OK():
			reasons[v.Missing]++
		default:
			s.Moment = append(s.Moment, i)
			s.time = append(s.time, m.Time.Seconds())
			s.Value = append(s.Value, v.Value)
			s.err = append(s.err, v.SE)
		}
	}
	n := len(s.Value)
	wanted := minMoments
	if r.Header.Planned > 0 {
		wanted = min(wanted, r.Header.Planned)
	}
	if n >= max(wanted, 1) && float64(n) >= minMomentShare*float64(all) {
		return s, ""
	}
	if all == 0 {
		return s, "no moment was measured"
	}
	reason := commonest(reasons)
	if n > 0 {
		reason = fmt.Sprintf("measured at %d of %d moments only", n, all) + prefixed(": ", reason)
	}
	return s, cmp.Or(reason, "no reason was given")
}

func prefixed(prefix, s string) string {
	if s == "" {
		return ""
	}
	return prefix + s
}

// commonest returns the reason that was given more often than others, of equals the first
// in the alphabet.
func commonest(reasons map[string]int) string {
	best := ""
	for reason, n := range reasons {
		if n > reasons[best] || n == reasons[best] && (best == "" || reason < best) {
			best = reason
		}
	}
	return best
}

// Median returns the median of a metric over a clip, or of one that takes the whole clip its
// value; or why there is none.
func Median(r record.Record, metric string) stat.Measurement {
	if whole, ok := r.Header.Sync.Values[metric]; ok {
		return whole
	}
	s, missing := OfMoments(r, metric)
	if missing != "" {
		return stat.Missing(missing)
	}
	return s.median()
}

// commonShare is the least share of the variance of one moment that counts as common to all
// moments of a clip: the project's own choice, held against drawn scenes.
const commonShare = 0.5

// median returns the median over the moments. With s the robust scatter of n
// values and m the median of their own standard errors, the standard error is
//
//	√( π/2 · s²/n + max(commonShare·m², m² − s²) )
//
// The first term is that of the median of n independent values (large-sample
// theory, for a normal distribution). The second is for what is common to all
// moments and does not average out: what the scatter does not explain, and at least
// a share of the error of one moment, as reflections, texture that repeats and light
// that depends on the eye stay the same through a shot, whatever else changes.
func (s Moments) median() stat.Measurement {
	centre := stat.Quantile(slices.Clone(s.Value), 0.5)
	scatter := stat.Scatter(s.Value, centre)
	return stat.Measured(centre, math.Hypot(math.Sqrt(math.Pi/2/float64(len(s.Value)))*scatter, s.common()))
}

// common is the part of the values' own standard errors that all of them share: what their
// scatter does not explain, and commonShare at least.
func (s Moments) common() float64 {
	scatter := stat.Scatter(s.Value, stat.Quantile(slices.Clone(s.Value), 0.5))
	own := stat.Quantile(slices.Clone(s.err), 0.5)
	return math.Sqrt(max(commonShare*own*own, own*own-scatter*scatter))
}

// Percentile returns the q-quantile over the moments. Its standard error joins
// the uncertainty of its rank, √(n·q·(1−q)) places to either side (binomial
// distribution), read off the neighbouring order statistics, with the standard
// error of the value that is found there.
func (s Moments) Percentile(q float64) stat.Measurement {
	n := float64(len(s.Value))
	at := q * (n - 1)
	width := math.Sqrt(n * q * (1 - q))
	sorted := slices.Sorted(slices.Values(s.Value))
	place := func(rank float64) float64 {
		rank = min(max(rank, 0), n-1)
		i := int(rank)
		j := min(i+1, len(sorted)-1)
		return sorted[i] + (rank-float64(i))*(sorted[j]-sorted[i])
	}
	value := place(at)
	rankError := max(place(at+width)-value, value-place(at-width))

	order := make([]int, len(s.Value))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(s.Value[i], s.Value[j]) })
	own := s.err[order[int(math.Round(at))]]
	return stat.Measured(value, math.Hypot(rankError, own))
}

// Drift is a change along a line and whether it is more than chance.
type Drift struct {
	Change      stat.Measurement
	Significant bool
}

// Trends are believed at this chance of a false alarm (Mann–Kendall, two-sided;
// the project's own choice). Fewer values than MinForTrend never reach it,
// not even when each is larger than the one before.
const (
	TrendChance = 0.01
	MinForTrend = 6
)

// Drift returns the change from the clip's first to its last frame.
func (s Moments) Drift(r record.Record) Drift {
	if len(s.Value) < MinForTrend {
		return Drift{Change: stat.Missing(fmt.Sprintf("%d moments are too few to tell a drift", len(s.Value)))}
	}
	span := s.time[len(s.time)-1] - s.time[0]
	if rate := r.Header.Left.Rate(); rate > 0 && r.Header.Left.Frames > 1 {
		span = max(span, float64(r.Header.Left.Frames-1)/rate)
	}
	// A trend takes work that grows with the square of the moments.
	const enough = 600
	step := (len(s.Value) + enough - 1) / enough
	return Trend(every(step, s.time), every(step, s.Value), every(step, s.err), span)
}

// every returns each step-th value.
func every(step int, values []float64) []float64 {
	var some []float64
	for i := 0; i < len(values); i += step {
		some = append(some, values[i])
	}
	return some
}

// Trend returns the change of values over a span of time along a robust line.
// Its standard error is the larger of two: what the scatter about the line
// gives, and what the values' own standard errors give.
func Trend(time, value, err []float64, span float64) Drift {
	slope, slopeError, ok := stat.TheilSen(time, value)
	if !ok {
		return Drift{Change: stat.Missing("all values are of one instant")}
	}
	mean := 0.0
	for _, t := range time {
		mean += t / float64(len(time))
	}
	about := 0.0
	for _, t := range time {
		about += (t - mean) * (t - mean)
	}
	propagated := stat.Quantile(slices.Clone(err), 0.5) / math.Sqrt(about)
	_, p := stat.MannKendall(value)
	return Drift{
		Change:      stat.Measured(slope*span, max(slopeError, propagated)*span),
		Significant: p < TrendChance,
	}
}
