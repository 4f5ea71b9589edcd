package judge

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
	"nightpair/qc/record"
	"nightpair/qc/target"
)

func TestParseTargets(t *testing.T) {
	targets, err := target.Parse(strings.NewReader("# focus calibration\nmetres,clip,converged,setup\n1.5,c1,2,35\n0.9,\"c,2\",inf,35\n3,c3,,50\n"), "c.csv")
	require.NoError(t, err)
	require.Equal(t, []target.Target{
		{Line: 3, Clip: "c1", Metres: 1.5, Converged: 2, Setup: "35"},
		{Line: 4, Clip: "c,2", Metres: 0.9, Converged: math.Inf(1), Setup: "35"},
		{Line: 5, Clip: "c3", Metres: 3, Setup: "50"},
	}, targets)
	for _, c := range []struct{ text, want string }{
		{"clip,metres\n", "c.csv: no targets in it"},
		{"clip\na\n", `c.csv: no column "metres" in its first line`},
		{"clip,metres\n,1\n", "c.csv:2: no clip"},
		{"clip,metres\na,1500\n", `c.csv:2: metres: "1500" is no distance from 0.05 to 1000 m`},
		{"clip,metres\na,1.5 m\n", `c.csv:2: metres: "1.5 m" is no distance from 0.05 to 1000 m`},
		{"clip,metres\na,inf\n", `c.csv:2: metres: "inf" is no distance from 0.05 to 1000 m`},
		{"clip,metres\na,1\na,2\n", "c.csv:3: a is in line 2 already"},
		{"clip,metres,converged\na,1,0\n", `c.csv:2: converged: "0" is no distance from 0.05 to 1000 m, nor inf for parallel cameras`},
		{"clip,metres,converged\na,1,2\nb,2,\n", "c.csv:3: of the targets of one setup all or none say where the cameras converge"},
	} {
		_, err := target.Parse(strings.NewReader(c.text), "c.csv")
		require.EqualError(t, err, c.want)
	}
}

// targetClips are clips of targets with those parallaxes.
func targetClips(parallax ...float64) []record.Record {
	var records []record.Record
	for i, v := range parallax {
		r := recordOf(map[string][]stat.Measurement{"focus_parallax": steady(6, v, 0.02)})
		r.Header.Clip.Name = fmt.Sprint("c", i)
		records = append(records, r)
	}
	return records
}

func targetLimits() []Limit {
	return []Limit{{Metric: "focus_parallax", Statistic: OnTargets, Low: -0.1, High: 0.1, Severity: Warn}}
}

// By hand: cameras 65 mm apart behind lenses of 1.1 picture widths, b·f = 7.15 % of
// the width × m; converged at 2 m, 7.15·(1/2 − 1/Z).
func TestFitTargets(t *testing.T) {
	const strength = 7.15
	distances := []float64{0.9, 1.4, 1.5, 2.4}
	file := func(converged string) []target.Target {
		text := "clip,metres,converged\n"
		for i, z := range distances {
			text += fmt.Sprintf("c%d,%v,%s\n", i, z, converged)
		}
		targets, err := target.Parse(strings.NewReader(text), "c.csv")
		require.NoError(t, err)
		return targets
	}
	parallax := func(zc float64) (p []float64) {
		for _, z := range distances {
			p = append(p, strength*(1/zc-1/z))
		}
		return p
	}
	one := func(f []target.Fit) target.Fit { require.Len(t, f, 1); return f[0] }

	f := one(target.FitAll(targetClips(parallax(2)...), file("")))
	require.InDelta(t, strength, f.Strength.Value, 1e-9)
	require.InDelta(t, 2, f.Converges.Value, 1e-9)
	require.Equal(t, "nobody says where the cameras converge", f.Off.Missing)
	for _, c := range f.Targets {
		require.InDelta(t, 0, c.Apart.Value, 1e-9)
		require.InDelta(t, c.Parallax.Value, c.Fitted, 1e-9)
	}
	require.Empty(t, OverDay(nil, []target.Fit{f}, targetLimits()))

	// One target off by 0.3 %.
	off := parallax(2)
	off[1] += 0.3
	f = one(target.FitAll(targetClips(off...), file("")))
	findings := OverDay(nil, []target.Fit{f}, targetLimits())
	require.Len(t, findings, 1)
	require.Equal(t, Rig, findings[0].Mend)
	require.InDelta(t, 0.3, findings[0].Value, 1e-3)
	require.Regexp(t, `^The target c1 at 1.4 m has a parallax of −24 px \(1.23 %\) where the others of its setup make it −29 px \(1.53 %\)\. Check `, findings[0].Detail)
	require.Equal(t, []string{"c1"}, findings[0].Clips)

	// Said to converge at 2 m: they do, or at 2.2 m.
	f = one(target.FitAll(targetClips(parallax(2)...), file("2")))
	require.InDelta(t, 0, f.Off.Value, 1e-9)
	require.Empty(t, OverDay(nil, []target.Fit{f}, targetLimits()))
	f = one(target.FitAll(targetClips(parallax(2.2)...), file("2")))
	require.InDelta(t, strength*(1/2.2-1/2.0), f.Off.Value, 1e-9)
	findings = OverDay(nil, []target.Fit{f}, targetLimits())
	require.Len(t, findings, 1)
	require.Contains(t, findings[0].Detail, "The targets give what stands where the cameras are said to converge a parallax of −6.2 px (0.325 %). Check ")

	// Convergence linked with the focus: no target has parallax, and one that has is
	// found.
	linked := file("1")
	for i := range linked {
		linked[i].Converged = linked[i].Metres
	}
	f = one(target.FitAll(targetClips(0, 0, 0, 0), linked))
	require.Equal(t, "it takes two targets at distances apart", f.Strength.Missing)
	require.Zero(t, f.Off.Value)
	require.Empty(t, OverDay(nil, []target.Fit{f}, targetLimits()))
	f = one(target.FitAll(targetClips(0, 0, 0.2, 0), linked))
	findings = OverDay(nil, []target.Fit{f}, targetLimits())
	require.Len(t, findings, 1)
	require.Contains(t, findings[0].Detail, "The target c2 at 1.5 m")

	// Parallel cameras, too few targets, a clip that is not there.
	f = one(target.FitAll(targetClips(parallax(math.Inf(1))...), file("")))
	require.InDelta(t, strength, f.Strength.Value, 1e-9)
	require.Equal(t, "the cameras cannot be told from parallel ones", f.Converges.Missing)
	f = one(target.FitAll(targetClips(parallax(2)[:2]...), file("")))
	require.InDelta(t, 2, f.Converges.Value, 1e-9)
	require.Equal(t, "the report holds no clip of that name", f.Targets[2].Parallax.Missing)
	require.Equal(t, "too few other targets", f.Targets[0].Apart.Missing)
	f = one(target.FitAll(targetClips(0.1), file("")))
	require.False(t, f.Strength.OK())
	require.Empty(t, OverDay(nil, []target.Fit{f}, targetLimits()))
}

// The errors of the fit are honest: drawn parallaxes and tapes lie within two of
// them about as often as they should.
func TestErrorsOfTargetsAreHonest(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	const rounds, strength, zc = 1000, 7.15, 2.2
	var hit [3]int
	for range rounds {
		var targets []target.Target
		var parallax []float64
		for i, z := range []float64{0.9, 1.4, 1.5, 2.4, 4} {
			targets = append(targets, target.Target{Clip: fmt.Sprint("c", i), Metres: z + target.TapeSE*rng.NormFloat64()})
			parallax = append(parallax, strength*(1/zc-1/z)+0.02*rng.NormFloat64())
		}
		f := target.FitAll(targetClips(parallax...), targets)[0]
		for i, off := range []stat.Measurement{
			stat.Measured(f.Strength.Value-strength, f.Strength.SE), stat.Measured(f.Converges.Value-zc, f.Converges.SE), f.Targets[2].Apart,
		} {
			if math.Abs(off.Value) <= 2*off.SE {
				hit[i]++
			}
		}
	}
	for _, n := range hit {
		require.InDelta(t, 0.954, float64(n)/rounds, 0.03)
	}
}

// A drawn target at the distances of a focus calibration, nearest, half a metre and
// one and a half farther, and at 1.5 m, before cameras converged at 2 m.
func TestFitTargetsOfDrawnPictures(t *testing.T) {
	metric, _ := metrics.Lookup("focus_parallax")
	var records []record.Record
	var targets []target.Target
	for i, z := range []float64{0.9, 1.4, 2.4, 1.5} {
		scene := synth.Scene{Name: "target", Interaxial: 0.065, Focal: 1.1, Convergence: 2, World: func(float64) synth.World {
			return synth.World{Ambient: 1, Things: []synth.Thing{{Shape: synth.Panel, At: synth.Vec{Z: z}, Size: synth.Vec{X: 4, Y: 3}, Paint: synth.Paint{
				Pattern: synth.Checks, Base: synth.RGB{R: 0.03, G: 0.03, B: 0.03}, Second: synth.RGB{R: 0.75, G: 0.75, B: 0.75}, Cell: [2]float64{0.1, 0.1}, Size: 0.08, Contrast: 0.12, Seed: 81,
			}}}}
		}}
		left, right, _ := synth.Shot{Scene: scene, Width: 640, Height: 360, Noise: 1, Seed: uint64(i), Chroma: synth.NoChroma, Lens: synth.Lens{Focus: z, Aperture: 0.03}}.Render(0)
		m := metric.Measure(&metrics.Pair{Left: left, Right: right})
		require.True(t, m.OK(), m.Missing)
		r := recordOf(map[string][]stat.Measurement{"focus_parallax": {m}})
		r.Header.Clip.Name = fmt.Sprint("c", i)
		records = append(records, r)
		targets = append(targets, target.Target{Clip: r.Header.Clip.Name, Metres: z})
	}
	f := target.FitAll(records, targets)[0]
	t.Logf("b·f %.3f ± %.3f, converged at %.3f ± %.3f m, %+v", f.Strength.Value, f.Strength.SE, f.Converges.Value, f.Converges.SE, f.Targets)
	require.InDelta(t, 7.15, f.Strength.Value, 2.5*f.Strength.SE)
	require.InDelta(t, 2, f.Converges.Value, 2.5*f.Converges.SE)
	require.Less(t, f.Strength.SE, 0.15)
	require.Less(t, f.Converges.SE, 0.03)
	require.Empty(t, OverDay(nil, []target.Fit{f}, targetLimits()))
}

// Whatever targets a crew shoots, fitting them is no mistake.
func TestFitAnyTargets(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	pick := func(values ...float64) float64 { return values[rng.IntN(len(values))] }
	for range 3000 {
		var parallax []float64
		var targets []target.Target
		told := rng.IntN(2) == 0
		for i := range rng.IntN(6) {
			parallax = append(parallax, pick(0, 0, 0.5, -3, rng.NormFloat64()))
			c := target.Target{Clip: fmt.Sprint("c", i), Metres: pick(target.MinTargetMetres, 1, 1, 1.5, 2, target.MaxTargetMetres)}
			if told {
				c.Converged = pick(c.Metres, 1, 2, math.Inf(1))
			}
			targets = append(targets, c)
		}
		OverDay(nil, target.FitAll(targetClips(parallax...), targets), targetLimits())
	}
}
