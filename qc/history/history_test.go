package history

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/geometry"
	"nightpair/metrics/stat"
	"nightpair/qc/history/drawn"
	"nightpair/qc/record"
)

// lines is so many lines of 1080 in picture heights.
func lines(n float64) float64 { return n / 1080 }

// out is how a drawn rig stands all day where nothing happens: not lined up, one camera higher.
var out = drawn.Stand{Terms: geometry.Terms{
	geometry.TermOffset: lines(2), geometry.TermRoll: 0.002, geometry.TermZoom: 0.001,
	geometry.TermHeight: 0.02, geometry.TermForward: -0.01, geometry.TermBarrel: 0.005, geometry.TermKeystone: 0.002,
}, Exposure: 0.05}

func still(int, float64) drawn.Stand { return out }

func records(rng *rand.Rand, d drawn.Rig) []record.Record { return d.Records(rng) }

func told(h History) []string {
	var all []string
	for _, e := range h.Events {
		for _, p := range e.Parts {
			all = append(all, fmt.Sprintf("%d %s %d-%d %.3f±%.3f", e.Kind, p.Name(), e.From, e.To, p.Size.Value, p.Size.SE))
		}
	}
	return all
}

func TestCleanDaysAreSilent(t *testing.T) {
	for seed := range uint64(12) {
		rng := rand.New(rand.NewPCG(seed, 1))
		for _, d := range []drawn.Rig{
			{Name: "A", Clips: 60, At: still}, {Name: "B", Clips: 70, Flat: true, At: still},
			{Name: "C", Clips: 9, At: still}, {Name: "D", Clips: 60, Same: true, At: still},
			// Takes of one set-up share the errors of their scene.
			{Name: "E", Clips: 60, Takes: 5, At: still}, {Name: "F", Clips: 100, Takes: 20, At: still},
		} {
			for _, h := range FollowAll(d.Records(rng)) {
				require.Empty(t, told(h), "seed %d, rig %s", seed, d.Name)
			}
		}
	}
}

func TestDaysWithChanges(t *testing.T) {
	hits := map[string]int{}
	within := map[string][2]int{}
	count := func(what string, size, se, truth float64) {
		c := within[what]
		c[1]++
		if math.Abs(size-truth) <= 2*se {
			c[0]++
		}
		within[what] = c
	}
	const seeds = 30
	for seed := range uint64(seeds) {
		rng := rand.New(rand.NewPCG(seed, 2))
		first := drawn.Rig{Name: "A", Clips: 64, At: func(clip int, k float64) drawn.Stand {
			s := out
			if clip >= 21 && clip < 45 { // knocked, and lined up again
				s.Terms[geometry.TermOffset] += lines(1.5)
				s.Terms[geometry.TermRoll] += 0.004
			}
			return s
		}}
		second := drawn.Rig{Name: "B", Clips: 60, Flat: true, At: func(clip int, k float64) drawn.Stand {
			s := out
			s.Terms[geometry.TermRoll] += 0.003 * k // creeps all day
			if clip >= 33 {                         // another pair of lenses
				s.Terms[geometry.TermZoom] += 0.004
				s.Terms[geometry.TermOffset] -= lines(1.2)
			}
			return s
		}}
		records := append(first.Records(rng), second.Records(rng)...)
		rng.Shuffle(len(records), func(i, j int) { records[i], records[j] = records[j], records[i] })
		histories := FollowAll(records)
		require.Len(t, histories, 2)
		a, b := histories[0], histories[1]
		require.Equal(t, "A left / A right", a.Rig.Name)

		for _, e := range a.Events {
			hits[fmt.Sprintf("A %d %d-%d", e.Kind, e.From, e.To)]++
			sign := 1.0
			if e.Kind == Realigned {
				sign = -1
			}
			for _, p := range e.Parts {
				switch p.Series.Name {
				case metrics.VerticalOffset:
					count("knock, offset", p.Size.Value, p.Size.SE, sign*100*lines(1.5))
				case metrics.Roll:
					count("knock, roll", p.Size.Value, p.Size.SE, sign*degrees*0.004)
				default:
					hits["A: "+p.Series.Name]++
				}
			}
		}
		for _, e := range b.Events {
			name := fmt.Sprintf("B %d %d-%d", e.Kind, e.From, e.To)
			if e.Kind == Crept {
				name = "B creep"
			}
			hits[name]++
			for _, p := range e.Parts {
				switch p.Series.Name {
				case metrics.Zoom:
					count("lens, zoom", p.Size.Value, p.Size.SE, 0.4)
				case metrics.VerticalOffset:
					count("lens, offset", p.Size.Value, p.Size.SE, -100*lines(1.2))
				case metrics.Roll:
					k := float64(p.To-p.From) / 59
					count("creep, roll", p.Size.Value, p.Size.SE, degrees*0.003*k)
				default:
					hits["B: "+p.Series.Name]++
				}
			}
		}
	}
	t.Log(hits, within)
	require.Equal(t, map[string]int{"A 0 20-21": seeds, "A 1 44-45": seeds, "B 2 32-33": seeds, "B creep": seeds}, hits)
	for what, c := range within {
		require.GreaterOrEqual(t, float64(c[0]), 0.9*float64(c[1]), what)
	}
	require.Len(t, within, 5)
}

// TestTiltAndHeightAreToldApart draws flat scenes, none of which tells a camera's height from its
// tilt.
func TestTiltAndHeightAreToldApart(t *testing.T) {
	const seeds = 300
	var offset, height int
	for seed := range uint64(seeds) {
		rng := rand.New(rand.NewPCG(seed, 3))
		h := FollowAll(records(rng, drawn.Rig{Name: "A", Clips: 20, Flat: true, At: still}))[0]
		s := h.Of(metrics.VerticalOffset)
		for _, o := range observe(h.Rig, s.Term) {
			require.Less(t, o.w.slope, s.prior, "no clip tells the height by itself")
		}
		require.True(t, s.Slope[0].OK())
		if math.Abs(s.Slope[0].Value-drawn.Aspect*out.Terms[geometry.TermHeight]) <= 2*s.Slope[0].SE {
			height++
		}
		truth := 100*out.Terms[geometry.TermOffset] + s.Parallax*drawn.Aspect*out.Terms[geometry.TermHeight]
		if math.Abs(s.State[0].Value-truth) <= 2*s.State[0].SE {
			offset++
		}
	}
	t.Log(offset, height)
	for _, n := range []int{offset, height} {
		require.GreaterOrEqual(t, float64(n)/seeds, 0.9)
		require.LessOrEqual(t, float64(n)/seeds, 0.995)
	}
}

func TestOneDepthDoesNotTellHeight(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 4))
	h := FollowAll(records(rng, drawn.Rig{Name: "A", Clips: 20, Flat: true, Same: true, At: still}))[0]
	s := h.Of(metrics.VerticalOffset)
	require.False(t, s.Slope[0].OK())
	require.InDelta(t, 100*(out.Terms[geometry.TermOffset]+0.01*out.Terms[geometry.TermHeight]), s.State[0].Value, 3*s.State[0].SE)
	require.Less(t, s.State[0].SE, 0.02)
}

// TestStepsOfFourErrors holds that steps of four times a clip's own error are told between the
// right clips wherever they are.
func TestStepsOfFourErrors(t *testing.T) {
	const seeds = 60
	right := 0
	for seed := range uint64(seeds) {
		rng := rand.New(rand.NewPCG(seed, 5))
		at := 5 + rng.IntN(50)
		one := records(rng, drawn.Rig{Name: "A", Clips: 60, At: still})
		var errs []float64
		for _, c := range FollowAll(one)[0].Of(metrics.Roll).Clips {
			errs = append(errs, c.SE/degrees)
		}
		own := stat.Median(errs)
		h := FollowAll(records(rng, drawn.Rig{Name: "A", Clips: 60, At: func(clip int, _ float64) drawn.Stand {
			s := out
			if clip >= at {
				s.Terms[geometry.TermRoll] += 4 * own
			}
			return s
		}}))[0]
		require.Len(t, h.Events, 1, "%v", told(h))
		if h.Events[0].From == at-1 && h.Events[0].To == at {
			right++
		}
	}
	t.Log(right)
	// A neighbour's error of half the step puts it aside: twice 2.3 % of cases.
	require.GreaterOrEqual(t, float64(right)/seeds, 0.9)
}

func TestOddClipsAreNoSteps(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 6))
	h := FollowAll(records(rng, drawn.Rig{Name: "A", Clips: 30, At: func(clip int, _ float64) drawn.Stand {
		s := out
		if clip == 0 || clip == 11 || clip == 12 || clip == 29 {
			s.Terms[geometry.TermRoll] += 0.02
		}
		return s
	}}))[0]
	require.Empty(t, told(h))
	require.Equal(t, []int{0, 11, 12, 29}, h.Of(metrics.Roll).Odd)
}

// TestTakesOfOneSceneShareTheirErrors draws an error that all takes of a set-up have in common.
func TestTakesOfOneSceneShareTheirErrors(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 7))
	records := records(rng, drawn.Rig{Name: "A", Clips: 60, Same: true, At: still})
	for i := range records {
		scene := i / 20
		for m := range records[i].Moments {
			s := records[i].Moments[m].Rig
			s.Parallax += 0.01 * float64(scene%2)
			s.Terms[geometry.TermRoll] += []float64{0, 0.0002, -0.0002}[scene]
		}
	}
	require.Empty(t, told(FollowAll(records)[0]))
}

// TestAxisOutOfSquare draws a convergence that changes with each set-up of five clips and turns
// the camera's roll with it, and a knock on top; and the same knock where the toe-in changes
// but turns nothing.
func TestAxisOutOfSquare(t *testing.T) {
	const seeds = 20
	for _, share := range []float64{0, 0.05, 0.1, 0.3} { // of the toe-in turns into roll
		within, exact, raised := 0, 0, 0
		for seed := range uint64(seeds) {
			rng := rand.New(rand.NewPCG(seed, 10))
			var toeIn [12]float64
			for i := range toeIn {
				toeIn[i] = 0.02 * rng.Float64() // β/f
			}
			const f = 2 // picture heights
			h := FollowAll(records(rng, drawn.Rig{Name: "A", Clips: 60, At: func(clip int, _ float64) drawn.Stand {
				s := out
				k := toeIn[clip/5]
				s.Terms[geometry.TermKeystone] = k
				s.Terms[geometry.TermRoll] += share * k * f
				// What height does at infinity stays where it is.
				s.Terms[geometry.TermOffset] -= s.Terms[geometry.TermHeight] * k * f * f
				if clip >= 32 {
					s.Terms[geometry.TermRoll] += 0.004
				}
				return s
			}}))[0]
			knocked := false
			for _, e := range h.Events {
				for _, p := range e.Parts {
					switch {
					case p.Name() == metrics.Keystone, e.Kind == Converged:
					case p.Name() == metrics.VerticalOffset && p.Kind == WithToeIn: // one camera is higher
						raised++
					case p.Name() == metrics.VerticalOffset && h.Of(metrics.VerticalOffset).axis == nil:
						// Too few and too small changes of toe-in to tell that the offset goes with it.
					case p.Name() == metrics.Roll && p.Kind == Step:
						require.Equal(t, []int{31, 32}, []int{p.From, p.To}, "share %g, seed %d: %v", share, seed, told(h))
						require.False(t, knocked)
						knocked = true
					case p.Name() == metrics.Roll && p.Kind == WithToeIn:
						require.Positive(t, share)
						all := slices.Sorted(slices.Values(slices.Repeat(toeIn[:], 5)))
						truth := degrees * share * f * (stat.Quantile(all, 0.95) - stat.Quantile(all, 0.05))
						exact++
						// Errors of the toe-in widen its range by some per cent.
						if math.Abs(p.Size.Value-truth) <= 2*p.Size.SE+0.05*truth {
							within++
						}
					default:
						require.Fail(t, "told", "share %g, seed %d: %v", share, seed, told(h))
					}
				}
			}
			require.True(t, knocked, "share %g, seed %d: %v", share, seed, told(h))
		}
		t.Log(share, exact, within, raised)
		require.GreaterOrEqual(t, raised, seeds/2)
		if share >= 0.1 {
			require.GreaterOrEqual(t, exact, seeds*3/4)
		}
		require.GreaterOrEqual(t, float64(within), 0.9*float64(exact))
	}
}

// TestLightOfEachSetupIsNoStep draws light and focus that differ from set-up to set-up by far more
// than their errors.
func TestLightOfEachSetupIsNoStep(t *testing.T) {
	const takes, days = 4, 30
	alarms := 0
	for seed := range uint64(days) {
		rng := rand.New(rand.NewPCG(seed, 13))
		all := records(rng, drawn.Rig{Name: "A", Clips: 60, Takes: takes, At: still})
		names := []string{metrics.Exposure, metrics.RedBalance, metrics.BlueBalance, metrics.Softness}
		setup := map[string]float64{}
		for i, r := range all {
			for _, name := range names {
				if i%takes == 0 {
					setup[name] = 0.05 * rng.NormFloat64()
				}
				for _, m := range r.Moments {
					m.Values[name] = stat.Measured(setup[name]+0.01*rng.NormFloat64(), 0.01)
				}
			}
		}
		if h := FollowAll(all)[0]; len(h.Events) > 0 {
			alarms++
		}
	}
	t.Log(alarms)
	// Fifteen set-ups tell their own scatter only roughly.
	require.LessOrEqual(t, alarms, days/5)
}

func TestTailIsThatOfTables(t *testing.T) {
	// Student's t and F at 1 % in statistical tables: t = 2.763 (two-sided, 28), F(2, 20) = 5.849.
	require.InDelta(t, 2.763*2.763, tail(1, 28, 0.01), 0.005)
	require.InDelta(t, 2*5.849, tail(2, 20, 0.01), 0.005)
}

func TestLongDay(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 8))
	h := FollowAll(records(rng, drawn.Rig{Name: "A", Clips: 1000, At: func(clip int, _ float64) drawn.Stand {
		s := out
		if clip >= 700 {
			s.Terms[geometry.TermOffset] += lines(1)
		}
		return s
	}}))[0]
	require.Len(t, h.Events, 1, "%v", told(h))
	require.Equal(t, 700, h.Events[0].To)
}

func BenchmarkFollow2000Clips(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 9))
	records := records(rng, drawn.Rig{Name: "A", Clips: 2000, At: still})
	for b.Loop() {
		FollowAll(records)
	}
}

// TestAnyRecord holds that nothing that a record may hold makes it panic.
func TestAnyRecord(t *testing.T) {
	for _, v := range []float64{0, 1e-300, 1e20, -1e300, 1e154} {
		rng := rand.New(rand.NewPCG(1, 12))
		all := records(rng, drawn.Rig{Name: "A", Clips: 20, At: still})
		for i := range all {
			m := &all[i].Moments[i%4]
			s := m.Rig
			switch i % 5 {
			case 0:
				s.Terms[i%len(s.Terms)] = v
			case 1:
				s.Information = [geometry.TermCount][geometry.TermCount]float64{}
				s.Information[0][0] = math.Abs(v)
			case 2:
				s.Parallax = v
			case 3:
				m.Values[metrics.Exposure] = stat.Measured(v, math.Abs(v))
				all[i].Header.EyeHeight = 0
			default:
				m.Rig = nil
			}
		}
		require.NotPanics(t, func() { FollowAll(all) }, v)
	}
}

func TestRigsWithoutCameraNames(t *testing.T) {
	clip := func(folder string, minute int) record.Record {
		return record.Record{
			Header: record.Header{Clip: record.Clip{Name: fmt.Sprint(folder, minute), Left: "/day/" + folder + "/L.mov"},
				Left: record.Source{Created: time.Date(2031, 3, 4, 9, minute, 0, 0, time.UTC)}},
			Moments: make([]record.Moment, 1), Trailer: record.Trailer{Done: true},
		}
	}
	inTurns := []record.Record{clip("one", 0), clip("two", 1), clip("one", 2), clip("two", 3)}
	rigs := Rigs(inTurns)
	require.Len(t, rigs, 2)
	require.Equal(t, "one", rigs[0].Name)
	require.Equal(t, "folders whose clips were shot in turns", rigs[0].By)
	require.Equal(t, "the files' times of creation", rigs[0].Order)

	// One after the other may be one rig in two places.
	after := []record.Record{clip("one", 0), clip("one", 1), clip("two", 2), clip("two", 3)}
	slices.Reverse(after)
	rigs = Rigs(after)
	require.Len(t, rigs, 1)
	var order []string
	for _, c := range rigs[0].Clips {
		order = append(order, c.Name())
	}
	require.Equal(t, []string{"one0", "one1", "two2", "two3"}, order)
	require.Empty(t, Rigs(nil))
}
