package pull

import (
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
	"nightpair/qc/record"
)

// lensRecord is a record of 24 moments over 96 frames in which the left lens is pulled
// from near to far between frames 24 and 72, smoothly, and the right one does what is
// asked of it. A scene that moves puts the same bends into both.
func lensRecord(right func(left func(frame float64) float64, frame float64) float64, bend float64) record.Record {
	left := func(frame float64) float64 {
		t := min(max((frame-24)/48, 0), 1)
		return 5 - 10*t*t*(3-2*t)
	}
	r := record.Record{Trailer: record.Trailer{Done: true}}
	for i := range 24 {
		frame := 4*i + 2
		scene := bend * math.Sin(float64(i)/3)
		l, at := left(float64(frame))+scene, right(left, float64(frame))+scene
		wobble := 0.15 * math.Sin(2.4*float64(i))
		root := func(v float64) float64 { return math.Copysign(math.Sqrt(math.Abs(v)), v) }
		r.Moments = append(r.Moments, record.Moment{Frame: frame, Values: map[string]stat.Measurement{
			"focus_left": stat.Measured(l, 0.3), "focus_right": stat.Measured(at+wobble, 0.3),
			"softness_near": stat.Measured(root((l-at)/2), 0.1), "softness_far": stat.Measured(root((at-l)/2), 0.1),
		}})
	}
	return r
}

func TestPullLenses(t *testing.T) {
	type way = func(left func(frame float64) float64, frame float64) float64
	follows := func(lag, share float64) way {
		return func(left func(frame float64) float64, frame float64) float64 { return share * left(frame-lag) }
	}
	const noLag = "the right lens does not follow the left one"
	for _, c := range []struct {
		name     string
		way      way
		together bool
		travel   float64 // %
		lag      float64
		noLag    string
	}{
		{"together", follows(0, 1), true, 0, 0, ""},
		{"focused apart all the time", func(left func(float64) float64, frame float64) float64 { return left(frame) + 2 }, true, 0, 0, ""},
		{"late by six frames", follows(6, 1), false, 0, 6, ""},
		{"early by five frames", follows(-5, 1), false, 0, -5, ""},
		{"at half the speed", follows(0, 0.5), false, -50, 0, noLag},
		{"resting", follows(0, 0), false, -100, 0, noLag},
		{"the other way", follows(0, -1), false, -200, 0, noLag},
	} {
		for _, bend := range []float64{0, 0.5} {
			t.Run(c.name, func(t *testing.T) {
				r := lensRecord(c.way, bend)
				p, reason := FindLenses(r)
				require.Empty(t, reason)
				t.Logf("travel %+.0f ± %.0f %%, lag %.2f ± %.2f", p.Travel().Value, p.Travel().SE, p.Lag.Value, p.Lag.SE)
				require.Equal(t, c.together, together(p))
				require.InDelta(t, c.travel, p.Travel().Value, 10)
				require.Equal(t, c.noLag, p.Lag.Missing)
				if p.Lag.OK() {
					require.InDelta(t, c.lag, p.Lag.Value, min(1.5, 2*p.Lag.SE))
				}
			})
		}
	}

	_, reason := FindLenses(lensRecord(func(func(float64) float64, float64) float64 { return 0 }, 0))
	require.Empty(t, reason)
	rest := lensRecord(follows(0, 1), 0)
	for i := range rest.Moments {
		rest.Moments[i].Values = rest.Moments[0].Values
	}
	_, reason = FindLenses(rest)
	require.Equal(t, "the focus does not move", reason)
	_, reason = FindLenses(record.Record{})
	require.Equal(t, "too few moments tell where the lenses are focused", reason)

	// An even pull from the first frame to the last looks the same late and focused
	// apart.
	even := lensRecord(follows(0, 1), 0)
	for i, m := range even.Moments {
		m.Values["focus_left"] = stat.Measured(float64(i)/2, 0.3)
		m.Values["focus_right"] = stat.Measured(float64(i-1)/2, 0.3)
	}
	p, reason := FindLenses(even)
	require.Empty(t, reason)
	require.Equal(t, "the pull has too little of a beginning or an end to tell a lag", p.Lag.Missing)
	require.InDelta(t, 1, p.Way.Value, 0.05)

	// A right eye that is soft at all depths shows less of each change. Alone that
	// would look like a lens that goes less far.
	soft := lensRecord(follows(0, 1), 0)
	for _, m := range soft.Moments {
		m.Values["focus_right"] = stat.Measured(0.6*m.Values["focus_right"].Value, 0.3)
		m.Values["softness_near"], m.Values["softness_far"] = stat.Measured(1.5, 0.1), stat.Measured(1.5, 0.1)
	}
	p, _ = FindLenses(soft)
	require.Equal(t, "the sharpness of near and far does not bear out what each lens shows", p.Way.Missing)
}

// Steps that lead away, drawn through lenses that are pulled up along them: the right
// one together with the left, late, half as far, and the other way. A dozen moments see
// the pull; half as many leave open whether half as far is as far.
func TestPullLensesOfDrawnPictures(t *testing.T) {
	scene, ok := synth.Named("stairs")
	require.True(t, ok)
	const stops, step = 12, 4 // of the focus, and frames from moment to moment
	var eyes [2][stops + 1]*picture.Frame
	draw := func(eye synth.Eye, stop int) *picture.Frame {
		stop = min(max(stop, 0), stops)
		if eyes[eye][stop] == nil {
			// In equal steps of parallax from 4.5 to 11 m.
			k := float64(stop) / stops
			shot := synth.Shot{
				Scene: scene, Noise: 1, Chroma: synth.NoChroma, Width: 720, Height: 406,
				Lens: synth.Lens{Focus: 1 / ((1-k)/4.5 + k/11), Aperture: 0.03},
			}
			eyes[eye][stop] = shot.Eye(eye, 0.5)
		}
		return eyes[eye][stop]
	}
	type both struct{ left, right *picture.Frame }
	seen := map[both]map[string]stat.Measurement{}
	take := func(right func(stop int) int) (r record.Record) {
		for i := range stops + 5 {
			stop := min(max(i-2, 0), stops)
			p := both{draw(synth.LeftEye, stop), draw(synth.RightEye, right(i-2))}
			if seen[p] == nil {
				seen[p] = map[string]stat.Measurement{}
				for _, name := range []string{"focus_left", "focus_right", "softness_near", "softness_far"} {
					m, _ := metrics.Lookup(name)
					seen[p][name] = m.Measure(&metrics.Pair{Left: p.left, Right: p.right})
				}
			}
			r.Moments = append(r.Moments, record.Moment{Frame: step * i, Values: seen[p]})
		}
		return r
	}
	for _, c := range []struct {
		name     string
		right    func(stop int) int
		together bool
		low      float64 // way
		high     float64
		lag      float64
		long     bool
	}{
		{"together", func(stop int) int { return stop }, true, 0.85, 1.15, 0, false},
		{"late by a step", func(stop int) int { return stop - 1 }, false, 0.85, 1.15, step, false},
		{"half as far", func(stop int) int { return stops/4 + min(max(stop, 0), stops)/2 }, false, 0.1, 0.8, 0, true},
		{"the other way", func(stop int) int { return stops - min(max(stop, 0), stops) }, false, -1.7, -0.5, 0, true},
	} {
		if c.long && os.Getenv("NIGHTPAIR_ACCURACY") == "" {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			p, reason := FindLenses(take(c.right))
			require.Empty(t, reason)
			t.Logf("way %.2f ± %.2f %s, lag %.2f ± %.2f %s", p.Way.Value, p.Way.SE, p.Way.Missing, p.Lag.Value, p.Lag.SE, p.Lag.Missing)
			require.True(t, p.Way.OK(), p.Way.Missing)
			require.Greater(t, p.Way.Value, c.low)
			require.Less(t, p.Way.Value, c.high)
			require.Equal(t, c.together, together(p))
			if p.Lag.OK() {
				require.InDelta(t, c.lag, p.Lag.Value, 2*p.Lag.SE)
				require.Less(t, p.Lag.SE, 2.0)
			}
			require.Equal(t, c.low > 0.8, p.Lag.OK())
		})
	}
}

// together reports whether both lenses move as one, as far as can be told.
func together(p Lenses) bool {
	return (!p.Lag.OK() || math.Abs(p.Lag.Value) <= record.Sure*p.Lag.SE) && p.Way.OK() && math.Abs(p.Way.Value-1) <= record.Sure*p.Way.SE
}
