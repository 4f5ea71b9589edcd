package qc

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/synth"
)

// pulled is a record of 24 moments over 96 frames in which the focus goes from
// −0.6 to +0.6 % between frames 24 and 72, smoothly, and the convergence does
// what is asked of it.
func pulled(converge func(focus func(frame float64) float64, frame float64) float64) Record {
	focus := func(frame float64) float64 {
		t := min(max((frame-24)/48, 0), 1)
		return 1.2*t*t*(3-2*t) - 0.6
	}
	r := Record{Trailer: Trailer{Done: true}}
	for i := range 24 {
		frame := 4*i + 2
		c := converge(focus, float64(frame))
		// Uncertain by some hundredths of a percent, as what is measured is.
		wobble := 0.02 * math.Sin(2.4*float64(i))
		spread := &metrics.Spread{Told: 0.9}
		for k := range metrics.SpreadPercentiles {
			spread.Parallax = append(spread.Parallax, -1+0.1*float64(k)+c+0.3*wobble)
		}
		r.Moments = append(r.Moments, Moment{Frame: frame, Parallax: spread, Values: map[string]metrics.Measurement{
			"focus_parallax": metrics.Measured(c-focus(float64(frame))+0.1+wobble, 0.06),
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
			p, reason := PullFocus(pulled(c.way))
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
	limits := []Limit{{Metric: "focus_lag", Statistic: Fact, Low: -2, High: 2, Severity: Warn}}
	f := Judge([]Record{pulled(linked(8, 1))}, limits)[0].Findings
	require.Len(t, f, 1)
	require.Equal(t, Rig, f[0].Mend)
	require.Regexp(t, `^The convergence follows the focus [78]\.?\d* frames late; the limit is 2 frames`, f[0].Detail)
	require.Empty(t, Judge([]Record{pulled(linked(0, 1)), {Trailer: Trailer{Done: true}, Moments: make([]Moment, 3)}}, limits)[0].Findings)

	p, _ := PullFocus(pulled(linked(0, 1)))
	require.InDelta(t, 0.1, p.Offset.Value, 0.02)
	require.InDelta(t, 1.2, p.Travel, 0.15)

	_, reason := PullFocus(pulled(func(focus func(frame float64) float64, frame float64) float64 { return focus(frame) * 0 }))
	require.Empty(t, reason)
	rest := pulled(linked(0, 1))
	for i := range rest.Moments {
		rest.Moments[i] = Moment{Frame: rest.Moments[i].Frame, Parallax: rest.Moments[0].Parallax, Values: rest.Moments[0].Values}
	}
	_, reason = PullFocus(rest)
	require.Equal(t, "the focus does not move", reason)
	_, reason = PullFocus(Record{})
	require.Equal(t, "too few moments tell what is in focus", reason)
}

// A chequered floor that leads away to a chequered wall, the focus pulled up
// along it: with the convergence linked, and with it late by four frames.
func TestPullFocusOfDrawnPictures(t *testing.T) {
	checks := synth.Paint{
		Pattern: synth.Checks, Base: synth.RGB{R: 0.1, G: 0.1, B: 0.1}, Second: synth.RGB{R: 0.6, G: 0.6, B: 0.6},
		Cell: [2]float64{0.23, 0.23}, Size: 0.1, Contrast: 0.3, Seed: 9,
	}
	scene := synth.Scene{
		Name: "chequered floor", Interaxial: 0.065, Focal: 1.1, Convergence: 6,
		World: func(float64) synth.World {
			return synth.World{
				Things: []synth.Thing{
					{Shape: synth.Ground, At: synth.Vec{Y: 1.2, Z: 10}, Size: synth.Vec{X: 40, Z: 30}, Paint: checks},
					{Shape: synth.Panel, At: synth.Vec{Y: -2, Z: 13}, Size: synth.Vec{X: 40, Y: 10}, Paint: checks},
				},
				Sun: synth.Vec{X: -0.3, Y: -0.8, Z: -0.5}, Ambient: 0.6,
			}
		},
	}
	// In equal steps of parallax from 5 to 11 m, over frames 8 to 40 of 48.
	distance := func(frame float64) float64 {
		t := min(max((frame-8)/32, 0), 1)
		return 1 / (1.0/5 + t*(1.0/11-1.0/5))
	}
	metric, ok := metrics.Lookup("focus_parallax")
	require.True(t, ok)
	linked, late := Record{}, Record{}
	for frame := 4; frame < 48; frame += 5 {
		at := float64(frame)
		shot := synth.Shot{
			Scene: scene, Noise: 1, Chroma: synth.NoChroma, Width: 720, Height: 406,
			Lens: synth.Lens{Focus: distance(at), Aperture: 0.13},
		}
		left := shot.Eye(synth.LeftEye, at/24)
		take := func(convergence float64) Moment {
			shot.Rig.Convergence = convergence
			pair := &metrics.Pair{Left: left, Right: shot.Eye(synth.RightEye, at/24)}
			spread, _ := pair.Spread()
			return Moment{Frame: frame, Parallax: spread, Values: map[string]metrics.Measurement{"focus_parallax": metric.Measure(pair)}}
		}
		linked.Moments = append(linked.Moments, take(distance(at)))
		late.Moments = append(late.Moments, take(distance(at-4)))
	}
	for _, m := range linked.Moments {
		if v := m.Values["focus_parallax"]; v.OK() {
			require.InDelta(t, 0, v.Value, 0.15, "constant at frame %d", m.Frame)
		}
	}
	intime, reason := PullFocus(linked)
	require.Empty(t, reason)
	require.True(t, intime.Linked(), "%+v", intime)
	require.InDelta(t, 0, intime.Offset.Value, 0.1)
	slow, reason := PullFocus(late)
	require.Empty(t, reason)
	t.Logf("follows %.2f ± %.2f and %.2f ± %.2f, late by %.2f ± %.2f and %.2f ± %.2f frames",
		intime.Follows.Value, intime.Follows.SE, slow.Follows.Value, slow.Follows.SE, intime.Lag.Value, intime.Lag.SE, slow.Lag.Value, slow.Lag.SE)
	require.InDelta(t, 4, slow.Lag.Value, 2*slow.Lag.SE)
	require.InDelta(t, 4, slow.Lag.Value-intime.Lag.Value, 1)
	require.Less(t, slow.Lag.SE, 3.0)
}
