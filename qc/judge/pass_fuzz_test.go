package judge

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/coarse"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/screen"
)

// FuzzNoStretchPasses makes records of clips of which something leaves the limits of the
// viewers for a part of the shot, in frames and in moments, beside whatever else. None of them
// may pass, whatever folds into what.
func FuzzNoStretchPasses(f *testing.F) {
	for seed := range uint64(64) {
		f.Add(seed)
	}
	set, _ := LookupLimits("viewer")
	limits, _ := set.Limits().On(screen.Screen{})
	f.Fuzz(func(t *testing.T, seed uint64) {
		rng := rand.New(rand.NewPCG(seed, 1))
		frames := 48 + rng.IntN(600)
		rate := []int{24, 25, 30, 50}[rng.IntN(4)]
		names := []string{metrics.VerticalOffset, metrics.Roll, metrics.Zoom, metrics.Exposure}
		bad := names[rng.IntN(len(names))]
		warn := 0.0
		for _, l := range limits {
			if l.Metric == bad && l.Statistic == Stretch && l.Severity == Warn {
				warn = l.High
			}
		}
		// A stretch of half a second at least, beyond the limit to warn by a tenth at least.
		length := rate/2 + 1 + rng.IntN(frames-rate/2)
		length = min(length, frames)
		from := rng.IntN(frames - length + 1)
		size := warn * (1.1 + 2*rng.Float64())
		if rng.IntN(2) == 0 {
			size = -size
		}
		truth := map[string]func(i int) float64{}
		for _, name := range names {
			base := 0.2 * rng.NormFloat64()
			truth[name] = func(int) float64 { return base }
		}
		truth[bad] = func(i int) float64 {
			if i >= from && i < from+length {
				return size
			}
			return 0
		}
		every := &coarse.Series{}
		noise := 0.01 * rng.Float64()
		for i := range frames {
			at := func(name string) float64 { return truth[name](i) + noise*rng.NormFloat64() }
			every.Add(coarse.Reading{
				Offset: at(names[0]), Roll: at(names[1]), Zoom: at(names[2]), Exposure: at(names[3]),
				OffsetSE: noise + 1e-3, RollSE: noise + 1e-3, ZoomSE: noise + 1e-3, ExposureSE: noise + 1e-3, Places: 80,
			})
		}
		values := clean(nil)
		r := recordOf(values)
		r.Moments = r.Moments[:0]
		r.Header.Left.Frames, r.Header.Right.Frames = frames, frames
		r.Header.Left.RateNum, r.Header.Right.RateNum = rate, rate
		r.Every = every
		for k := range 24 {
			i := (2*k + 1) * frames / 48
			m := record.Moment{Frame: i, Values: map[string]stat.Measurement{}}
			for name, list := range values {
				m.Values[name] = list[k%len(list)]
			}
			// Some errors of other metrics come and go, and some moments tell nothing.
			worst := 0.0
			for _, name := range names {
				v := truth[name](i)
				m.Values[name] = stat.Measured(v+0.002*rng.NormFloat64(), 0.003)
				if name != metrics.Exposure {
					worst = math.Max(worst, math.Abs(v))
				}
			}
			m.Values[metrics.VerticalWorst] = stat.Measured(worst*rng.Float64(), 0.01)
			m.Values[metrics.SyncOffset] = stat.Missing("not observable")
			r.Moments = append(r.Moments, m)
		}
		v := Clips([]record.Record{r}, limits)[0]
		require.NotEqual(t, Passed, v.Status, "%s %.3f from frame %d over %d of %d", bad, size, from, length, frames)
		require.True(t, slices.ContainsFunc(v.Findings, func(f Finding) bool { return f.Limit.Metric == bad && f.Status != Unmeasured }),
			"%s %.3f from frame %d over %d of %d: %+v", bad, size, from, length, frames, v.Findings)
	})
}

// FuzzNoStretchOfMomentsPasses does the same to the metrics that moments alone tell: what
// three moments in a row at least show certainly beyond a limit is never passed.
func FuzzNoStretchOfMomentsPasses(f *testing.F) {
	for seed := range uint64(128) {
		f.Add(seed)
	}
	set, _ := LookupLimits("viewer")
	limits, _ := set.Limits().On(screen.Screen{Width: 10})
	var judged []Limit
	for _, l := range limits {
		if l.Statistic == Stretch && !slices.Contains(changing(), l.Metric) {
			judged = append(judged, l)
		}
	}
	f.Fuzz(func(t *testing.T, seed uint64) {
		rng := rand.New(rand.NewPCG(seed, 2))
		l := judged[rng.IntN(len(judged))]
		bound := l.High
		if math.IsInf(bound, 0) || rng.IntN(2) == 0 && !math.IsInf(l.Low, 0) {
			bound = l.Low
		}
		se := 0.02 * math.Abs(bound) * (0.1 + rng.Float64())
		size := bound * (1.25 + 2*rng.Float64())
		from := rng.IntN(22)
		length := 3 + rng.IntN(22-from)
		values := clean(nil)
		rest := steady(24, 0, se)
		if own, ok := values[l.Metric]; ok {
			rest = slices.Clone(own)
		}
		for i := from; i < min(from+length, 24); i++ {
			rest[i] = stat.Measured(size+se*0.3*rng.NormFloat64(), se)
		}
		values[l.Metric] = rest
		// What else is wrong, on the whole.
		for name, size := range map[string]float64{metrics.Exposure: 1, metrics.Softness: 1, metrics.VerticalOffset: 0.5} {
			if name != l.Metric && rng.IntN(4) == 0 {
				values[name] = steady(24, size*rng.NormFloat64(), 0.01)
			}
		}
		v := Clips([]record.Record{recordOf(values)}, limits)[0]
		require.NotEqual(t, Passed, v.Status, "%s %.3f ± %.3f from moment %d over %d", l.Metric, size, se, from, length)
	})
}
