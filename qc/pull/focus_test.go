package pull

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/depth"
	"nightpair/metrics/stat"
	"nightpair/qc/record"
)

// pulled is a record of 24 moments over 96 frames in which the focus goes from
// −0.6 to +0.6 % between frames 24 and 72, smoothly, and the convergence does
// what is asked of it.
func pulled(converge func(focus func(frame float64) float64, frame float64) float64) record.Record {
	focus := func(frame float64) float64 {
		t := min(max((frame-24)/48, 0), 1)
		return 1.2*t*t*(3-2*t) - 0.6
	}
	r := record.Record{Trailer: record.Trailer{Done: true}}
	for i := range 24 {
		frame := 4*i + 2
		c := converge(focus, float64(frame))
		// Uncertain by some hundredths of a percent, as what is measured is.
		wobble := 0.02 * math.Sin(2.4*float64(i))
		spread := &depth.Spread{Coverage: 0.9}
		for k := range depth.SpreadPercentiles {
			spread.Parallax = append(spread.Parallax, -1+0.1*float64(k)+c+0.3*wobble)
		}
		r.Moments = append(r.Moments, record.Moment{Frame: frame, Parallax: spread, Values: map[string]stat.Measurement{
			"focus_parallax": stat.Measured(c-focus(float64(frame))+0.1+wobble, 0.06),
		}})
	}
	return r
}

func TestPullFocus(t *testing.T) {
	type way = func(focus func(frame float64) float64, frame float64) float64
	linked := func(lag, share float64) way {
		return func(focus func(frame float64) float64, frame float64) float64 { return share * focus(frame-lag) }
	}
	for _, c := range []struct {
		name    string
		way     way
		linked  bool
		follows float64
		lag     float64
	}{
		{"linked", linked(0, 1), true, 1, 0},
		{"late by six frames", linked(6, 1), false, 1, 6},
		{"early by three frames", linked(-3, 1), false, 1, -3},
		// One of two axes moves.
		{"half the way", linked(0, 0.5), false, 0.5, 0},
		{"not at all", linked(0, 0), false, 0, math.NaN()},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, reason := FindFocus(pulled(c.way))
			require.Empty(t, reason)
			require.Equal(t, c.linked, p.Linked())
			require.InDelta(t, c.follows, p.Follows.Value, 0.05)
			if math.IsNaN(c.lag) {
				require.Equal(t, "the convergence does not follow the focus", p.Lag.Missing)
				return
			}
			require.InDelta(t, c.lag, p.Lag.Value, 0.8)
			require.Less(t, math.Abs(p.Lag.Value-c.lag), 3*p.Lag.SE)
			require.Less(t, p.Lag.SE, 2.0)
		})
	}
	p, _ := FindFocus(pulled(linked(0, 1)))
	require.InDelta(t, 0.1, p.Offset.Value, 0.02)
	require.InDelta(t, 1.2, p.Travel, 0.15)

	_, reason := FindFocus(pulled(func(focus func(frame float64) float64, frame float64) float64 { return focus(frame) * 0 }))
	require.Empty(t, reason)
	rest := pulled(linked(0, 1))
	for i := range rest.Moments {
		rest.Moments[i] = record.Moment{Frame: rest.Moments[i].Frame, Parallax: rest.Moments[0].Parallax, Values: rest.Moments[0].Values}
	}
	_, reason = FindFocus(rest)
	require.Equal(t, "the focus does not move", reason)
	_, reason = FindFocus(record.Record{})
	require.Equal(t, "too few moments tell what is in focus", reason)
}

func TestPullRange(t *testing.T) {
	from, to, ok := Range(pulled(func(focus func(float64) float64, frame float64) float64 { return focus(frame) }))
	require.True(t, ok)
	// The focus moves from frame 24 to 72; a tenth of the way is gone at 33.
	require.InDelta(t, 26, from, 4)
	require.InDelta(t, 70, to, 4)
	r := pulled(func(focus func(float64) float64, frame float64) float64 { return focus(frame - 12) })
	_, late, ok := Range(r)
	require.True(t, ok)
	require.InDelta(t, to+12, late, 4)
	// Where nothing tells the focus after the pull, it is looked for.
	for i := range r.Moments {
		if r.Moments[i].Frame > 60 {
			r.Moments[i].Values = map[string]stat.Measurement{}
		}
	}
	_, unseen, ok := Range(r)
	require.True(t, ok)
	require.Greater(t, unseen, 66)
	_, _, ok = Range(record.Record{})
	require.False(t, ok)

	require.Equal(t, []int{4, 5, 6, 7}, Frames(4, 7))
	run := Frames(10, 500)
	require.Len(t, run, MaxFrames)
	require.Equal(t, 10, run[0])
	require.Equal(t, 500, run[len(run)-1])
}

// Whatever a record holds of a pull, judging it is no mistake.
func TestPullFocusOfAnything(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	pick := func(values ...float64) float64 { return values[rng.IntN(len(values))] }
	found := 0
	for range 200 {
		var r record.Record
		level := pick(0, 1)
		kinds := [4]int{rng.IntN(5), rng.IntN(5), rng.IntN(5), rng.IntN(5)}
		way := func(of, i, n int) float64 { // rests, jumps, goes or wanders
			switch kinds[of] {
			case 0:
				return level
			case 1:
				return float64(2 * i / n)
			case 2:
				return float64(i) / float64(n)
			case 3:
				return -float64(i) / float64(n)
			}
			return rng.NormFloat64()
		}
		n := 3 + rng.IntN(20)
		for i := range n {
			r.Moments = append(r.Moments, record.Moment{Frame: 5 * i, Parallax: &depth.Spread{Parallax: []float64{way(0, i, n), 1}},
				Values: map[string]stat.Measurement{"focus_parallax": stat.Measured(way(1, i, n), pick(0, 0.1))}})
		}
		for i := range rng.IntN(30) {
			f := record.PullFrame{Frame: 2 * i, Parallax: []float64{way(0, i, 30), 1}}
			for k := range rng.IntN(20) {
				f.Bands = append(f.Bands, depth.FocusBand{Parallax: 0.1 * float64(k), Sharpness: pick(0, 0.3, 0.5, rng.Float64())})
			}
			left, right := 0.5*way(2, i, 30), way(3, i, 30)
			f.Moved.Left.Across, f.Moved.Right.Across = stat.Measured(left, 0), stat.Measured(right, 0)
			r.Trailer.Pull = append(r.Trailer.Pull, f)
		}
		p, reason := FindFocus(r)
		if reason == "" {
			found++
			p.Linked()
		}
		Range(r)
	}
	require.Greater(t, found, 20)
}
