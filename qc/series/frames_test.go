package series_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/coarse"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
	"nightpair/qc/series"
)

// half is the length in seconds of the stretches.
const half = 0.5

// clip is a record of so many frames at 24 per second whose vertical offset is true(frame),
// read coarsely with a bias of the scene in every frame and finely in 24 moments.
func clip(frames int, bias, noise float64, truth func(frame int) float64) record.Record {
	rng := rand.New(rand.NewPCG(1, uint64(frames)))
	r := record.Record{Header: record.Header{Left: record.Source{Frames: frames, RateNum: 24, RateDen: 1}}}
	every := &coarse.Series{}
	for i := range frames {
		every.Add(coarse.Reading{Offset: truth(i) + bias + noise*rng.NormFloat64(), OffsetSE: noise, RollSE: 1, ZoomSE: 1, Places: 100})
	}
	r.Every = every
	for k := range 24 {
		i := (2*k + 1) * frames / 48
		r.Moments = append(r.Moments, record.Moment{Frame: i, Values: map[string]stat.Measurement{
			metrics.VerticalOffset: stat.Measured(truth(i)+0.001*rng.NormFloat64(), 0.002),
		}})
	}
	return r
}

func frames(t *testing.T, r record.Record) series.Track {
	f, missing := series.OfFrames(r, metrics.VerticalOffset)
	require.Empty(t, missing)
	return f
}

func TestChangesWithinAShot(t *testing.T) {
	for name, test := range map[string]struct {
		truth              func(frame int) float64
		worst, change      float64
		from, to, at, last int // −1 where it is as noise has it
	}{
		"nothing": {func(int) float64 { return 0.1 }, 0.1, 0, -1, -1, -1, -1},
		"step":    {func(i int) float64 { return 1.1 * unit(i >= 120) }, 1.1, 1.1, 120, 299, -1, 119},
		"blip":    {func(i int) float64 { return -1.5 * unit(i >= 150 && i < 174) }, -1.5, -1.5, 150, 173, -1, 149},
		"ramp":    {func(i int) float64 { return float64(i) / 300 }, 1 - 6.0/300, 1 - 12.0/300, -1, 299, -1, 149},
	} {
		t.Run(name, func(t *testing.T) {
			f := frames(t, clip(300, 0.03, 0.01, test.truth))
			worst, middle := f.Worst(half, math.Abs)
			require.InDelta(t, test.worst, worst.Value, 0.02)
			require.Less(t, math.Abs(test.worst-worst.Value), 3*worst.SE)
			change, last, first := f.Change(half)
			require.InDelta(t, test.change, change.Value, 0.03)
			if test.last >= 0 {
				require.InDelta(t, test.last, last, 8*unit(name == "ramp"))
				require.Equal(t, last+1, first)
			} else {
				require.Less(t, math.Abs(change.Value), 2*change.SE, "noise is no change")
			}
			from, to, _ := f.Beyond(middle, func(v float64) float64 { return math.Abs(v) - 0.7 })
			if test.from >= 0 {
				require.Equal(t, test.from, from)
			}
			if test.to >= 0 {
				require.Equal(t, test.to, to)
			}
		})
	}
}

func unit(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

// A change of shot is no change within one, and each shot has a bias of its own.
func TestShotsAreTiedOneByOne(t *testing.T) {
	r := clip(240, 0, 0.005, func(int) float64 { return 0.2 })
	r.Header.Sync.Cuts = []record.Cut{{Frame: 100}}
	for i := 100; i < 240; i++ {
		r.Every.Offset.Value[i] += 0.4 // the other scene biases it by so much more
	}
	change, _, _ := frames(t, r).Change(half)
	require.Less(t, math.Abs(change.Value), 2*change.SE)
	worst, _ := frames(t, r).Worst(half, math.Abs)
	require.InDelta(t, 0.2, worst.Value, 0.01)
}

// What wanders from moment to moment counts as error.
func TestWanderingReadingsAreUncertain(t *testing.T) {
	r := clip(240, 0, 0.005, func(int) float64 { return 0 })
	for i := range r.Every.Offset.Value {
		r.Every.Offset.Value[i] += 0.2 * math.Sin(float64(i)/7)
	}
	worst, _ := frames(t, r).Worst(half, math.Abs)
	require.Greater(t, worst.SE, 0.1)
	change, _, _ := frames(t, r).Change(half)
	require.Less(t, math.Abs(change.Value), 3*change.SE)
}

func TestTooLittleIsMissing(t *testing.T) {
	_, missing := series.OfFrames(record.Record{}, metrics.VerticalOffset)
	require.NotEmpty(t, missing)
	r := clip(240, 0, 0.01, func(int) float64 { return 0 })
	for i := range r.Every.Offset.Value {
		if i%3 > 0 {
			r.Every.Offset.Value[i], r.Every.Offset.SE[i] = math.NaN(), math.NaN()
		}
	}
	worst, _ := frames(t, r).Worst(half, math.Abs)
	require.NotEmpty(t, worst.Missing, "a third of the frames is too few")
	r.Moments = nil
	_, missing = series.OfFrames(r, metrics.VerticalOffset)
	require.NotEmpty(t, missing)
}

// What goes to and fro is told with its amplitude; steps, blips, ramps and noise are none.
func TestOscillation(t *testing.T) {
	for name, test := range map[string]struct {
		truth func(frame int) float64
		want  float64
	}{
		"nothing": {func(int) float64 { return 0.1 }, 0},
		"step":    {func(i int) float64 { return 1.1 * unit(i >= 120) }, 0},
		"blip":    {func(i int) float64 { return 1.1 * unit(i >= 120 && i < 132) }, 0},
		"jolt":    {func(i int) float64 { return 1.1 * unit(i >= 120 && i < 144) }, 0},
		"ramp":    {func(i int) float64 { return float64(i) / 300 }, 0.02},
		"shake":   {func(i int) float64 { return 0.4 * math.Sin(2*math.Pi*float64(i)/5) }, 0.4},
		"a while": {func(i int) float64 { return 0.4 * math.Sin(2*math.Pi*float64(i)/4) * unit(i >= 100 && i < 145) }, 0.4},
		"slow":    {func(i int) float64 { return 0.4 * math.Sin(2*math.Pi*float64(i)/12) }, 0.4},
	} {
		t.Run(name, func(t *testing.T) {
			got, middle := frames(t, clip(300, 0.03, 0.01, test.truth)).Oscillation(half)
			require.True(t, got.OK())
			require.InDelta(t, test.want, got.Value, max(0.02, 2*got.SE))
			if name == "a while" {
				require.InDelta(t, 122, middle, 6)
			}
		})
	}
}
