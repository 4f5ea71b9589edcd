package measure

import (
	"context"
	"math"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/depth"
	"nightpair/metrics/geometry"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
	"nightpair/qc/judge"
	"nightpair/qc/pull"
	"nightpair/qc/record"
)

// pulledEye is an eye's file of a focus that is pulled along a lawn with posts on
// it, or a chequered floor, between 5 and 11 m, over frames 16 to 48 of 64.
type pulledEye struct {
	filmed
	focus  func(frame float64) float64 // metres
	checks bool
	noise  float64
	// converge returns where the cameras converge at a frame, and turn how: Both
	// axes, or the left one alone.
	converge func(frame float64) float64
	leftOnly bool
}

func pulledTo(frame float64) float64 {
	u := min(max((frame-16)/32, 0), 1)
	u = u * u * (3 - 2*u)
	return 1 / (1.0/5 + u*(1.0/11-1.0/5))
}

func (p *pulledEye) Frame(ctx context.Context, index int) (*picture.Frame, error) {
	grass := synth.Paint{Base: synth.RGB{R: 0.2, G: 0.3, B: 0.1}, Second: synth.RGB{R: 0.5, G: 0.5, B: 0.3}, Size: 0.05, Contrast: 0.5, Persistence: 0.9, Seed: 4}
	bark := synth.Paint{Base: synth.RGB{R: 0.2, G: 0.11, B: 0.05}, Second: synth.RGB{R: 0.42, G: 0.26, B: 0.13}, Size: 0.2, Contrast: 0.4, Persistence: 0.8, Seed: 5}
	world := synth.World{Sun: synth.Vec{X: -0.3, Y: -0.8, Z: -0.5}, Ambient: 0.6, Things: []synth.Thing{
		{Shape: synth.Ground, At: synth.Vec{Y: 1.2, Z: 10}, Size: synth.Vec{X: 40, Z: 30}, Paint: grass},
		{Shape: synth.Panel, At: synth.Vec{Y: -2, Z: 13}, Size: synth.Vec{X: 40, Y: 10}, Paint: bark},
	}}
	for i := range 4 {
		z := 4.5 + 2*float64(i)
		world.Things = append(world.Things, synth.Thing{Shape: synth.Post, At: synth.Vec{X: (float64(i) - 1.5) * z * 0.2, Y: 0.2, Z: z}, Size: synth.Vec{X: 0.4, Y: 2}, Paint: bark})
	}
	at := float64(index)
	shot := synth.Shot{
		Scene: synth.Scene{Name: "lawn", Interaxial: 0.065, Focal: 1.1, Convergence: 6, World: func(float64) synth.World { return world }},
		Noise: p.noise, Chroma: synth.NoChroma, Width: p.source.Width, Height: p.source.Height, Rate: 24,
		Lens: synth.Lens{Focus: p.focus(at), Aperture: 0.13},
		Rig:  synth.Rig{ToeIn: true, Convergence: p.converge(at)},
	}
	if p.checks {
		paint := synth.Paint{
			Pattern: synth.Checks, Base: synth.RGB{R: 0.1, G: 0.1, B: 0.1}, Second: synth.RGB{R: 0.6, G: 0.6, B: 0.6},
			Cell: [2]float64{0.23, 0.23}, Size: 0.1, Contrast: 0.3, Seed: 9,
		}
		world.Things = world.Things[:2]
		world.Things[0].Paint, world.Things[1].Paint = paint, paint
	}
	if p.leftOnly {
		angle := math.Atan(0.065/p.converge(at)) * 180 / math.Pi
		shot.Scene.Camera = func(float64) synth.Pose { return synth.Pose{Yaw: angle} }
		shot.Rig = synth.Rig{Convergence: math.Inf(1), Camera: synth.CameraError{Pan: angle}}
	}
	frame := shot.Eye(p.eye, at/24)
	frame.Index = index
	return frame, nil
}

// openPulled opens both eyes of a drawn pull.
func openPulled(t *testing.T, width int, eye pulledEye) *footage {
	f, err := openFootage(t.Context(), separate("l", "r"), func(ctx context.Context, path string) (Reader, error) {
		e := eye
		if path == "r" {
			e.eye = synth.RightEye
		}
		e.source = record.Source{Path: path, Width: width, Height: width * 9 / 16, PixelAspect: 1, RateNum: 24, RateDen: 1, Frames: 64}
		return &e, nil
	})
	require.NoError(t, err)
	f.setup = record.Setup{Packing: record.Separate}
	return f
}

// pulledMoments says that the moments show the pull, with the cameras converging so.
func pulledMoments(focus, converge func(frame float64) float64) record.Record {
	r := record.Record{Trailer: record.Trailer{Done: true}}
	for frame := 2; frame < 64; frame += 6 {
		at := 7.15 / converge(float64(frame))
		spread := &depth.Spread{}
		for range depth.SpreadPercentiles {
			spread.Parallax = append(spread.Parallax, at)
		}
		r.Moments = append(r.Moments, record.Moment{Frame: frame, Parallax: spread, Values: map[string]stat.Measurement{"focus_parallax": stat.Measured(at-7.15/focus(float64(frame)), 0.1)}})
	}
	return r
}

// The motors of both axes are four frames late.
func TestPullFocusOfDrawnPictures(t *testing.T) {
	late := func(frame float64) float64 { return pulledTo(frame - 4) }
	r := pulledMoments(pulledTo, late)
	f := openPulled(t, 640, pulledEye{focus: pulledTo, converge: late, noise: 1})
	var err error
	r.Trailer.Pull, err = f.pull(t.Context(), r)
	require.NoError(t, err)
	require.Len(t, r.Trailer.Pull, pull.MaxFrames)
	p, reason := pull.FindFocus(r)
	require.Empty(t, reason)
	t.Logf("late by %.2f ± %.2f frames, follows %.2f ± %.2f, right %.3f ± %.3f, off %.3f ± %.3f",
		p.Lag.Value, p.Lag.SE, p.Follows.Value, p.Follows.SE, p.Right.Value, p.Right.SE, p.Offset.Value, p.Offset.SE)
	require.InDelta(t, 4, p.Lag.Value, 1)
	require.Less(t, math.Abs(p.Lag.Value-4), 2*p.Lag.SE)
	require.Less(t, p.Lag.SE, 1.5)
	require.InDelta(t, 1, p.Follows.Value, 2*p.Follows.SE)
	require.InDelta(t, 0.5, p.Right.Value, 0.04)
	require.Equal(t, "Both cameras converge equally.", judge.AxesPhrase(p))
	require.False(t, p.Linked())
	limits := []judge.Limit{{Metric: "focus_lag", Statistic: judge.Fact, Low: -1, High: 1, Severity: judge.Warn}}
	require.Contains(t, judge.Clips([]record.Record{r}, limits)[0].Findings[0].Notes, "Both cameras converge equally.")
}

// Lags over scenes, noise, ways of pulling and directions: their errors are honest.
func TestLagsOfDrawnPulls(t *testing.T) {
	if os.Getenv("NIGHTPAIR_ACCURACY") == "" {
		t.Skip("takes minutes: set NIGHTPAIR_ACCURACY")
	}
	back := func(frame float64) float64 { return pulledTo(64 - frame) }
	even := func(frame float64) float64 {
		return 1 / (1.0/5 + min(max((frame-16)/32, 0), 1)*(1.0/11-1.0/5))
	}
	within, all := 0, 0
	for _, c := range []struct {
		name  string
		eye   pulledEye
		focus func(float64) float64
		lag   float64
	}{
		{"lawn, in time", pulledEye{noise: 1}, pulledTo, 0},
		{"lawn with noise, late by 6", pulledEye{noise: 3}, pulledTo, 6},
		{"lawn, back, late by 3", pulledEye{noise: 1}, back, 3},
		{"lawn, back, early by 2", pulledEye{noise: 2}, back, -2},
		{"lawn, even, late by 2", pulledEye{noise: 1}, even, 2},
		{"floor, late by 5", pulledEye{noise: 1, checks: true}, pulledTo, 5},
		{"floor, back, in time", pulledEye{noise: 1, checks: true}, back, 0},
		{"floor with noise, even, early by 4", pulledEye{noise: 3, checks: true}, even, -4},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.eye.focus = c.focus
			c.eye.converge = func(frame float64) float64 { return c.focus(frame - c.lag) }
			r := pulledMoments(c.eye.focus, c.eye.converge)
			var err error
			r.Trailer.Pull, err = openPulled(t, 640, c.eye).pull(t.Context(), r)
			require.NoError(t, err)
			p, reason := pull.FindFocus(r)
			require.Empty(t, reason)
			t.Logf("late by %.2f ± %.2f frames, follows %.2f ± %.2f", p.Lag.Value, p.Lag.SE, p.Follows.Value, p.Follows.SE)
			require.InDelta(t, c.lag, p.Lag.Value, max(1.5, 2.5*p.Lag.SE))
			require.InDelta(t, 1, p.Follows.Value, 3*p.Follows.SE)
			if all++; math.Abs(p.Lag.Value-c.lag) <= 2*p.Lag.SE {
				within++
			}
		})
	}
	require.GreaterOrEqual(t, within, all-1)
}

// The left axis turns alone, in time, so that what is in focus keeps its parallax;
// and then the cameras tilt as well.
func TestAxisOfDrawnPictures(t *testing.T) {
	f := openPulled(t, 480, pulledEye{focus: pulledTo, converge: pulledTo, noise: 1, leftOnly: true})
	r := pulledMoments(pulledTo, pulledTo)
	metric, _ := metrics.Lookup("focus_parallax")
	var constant []float64
	middle, err := f.pairAt(t.Context(), 32)
	require.NoError(t, err)
	for _, frame := range []int{2, 14, 24, 28, 36, 44, 56} {
		p, err := f.pairAt(t.Context(), frame)
		require.NoError(t, err)
		spread, _ := p.Spread()
		require.NotNil(t, spread)
		r.Trailer.Pull = append(r.Trailer.Pull, record.PullFrame{Frame: frame, Parallax: spread.Parallax, Bands: p.FocusBands(), Moved: p.ShiftsSince(middle)})
		if m := metric.Measure(p); m.OK() {
			constant = append(constant, m.Value)
			require.InDelta(t, 0, m.Value, 2.5*m.SE, "at frame %d", frame)
		}
	}
	require.GreaterOrEqual(t, len(constant), 5)
	require.Less(t, slices.Max(constant)-slices.Min(constant), 0.78/2, "half of what the focus goes")
	p, reason := pull.FindFocus(r)
	require.Empty(t, reason)
	t.Logf("right %.3f ± %.3f", p.Right.Value, p.Right.SE)
	require.InDelta(t, 0, p.Right.Value, 0.05)
	require.Equal(t, "The left camera converges alone, the right one rests.", judge.AxesPhrase(p))
	require.InDelta(t, 0, p.Right.Value, 2.5*p.Right.SE)
	fact, _ := judge.LookupFact("right_axis")
	require.InDelta(t, 100*p.Right.Value, fact.Of(r).Value, 1e-9)
	limits := []judge.Limit{{Metric: "right_axis", Statistic: judge.Fact, Low: 25, High: 75, Severity: judge.Warn}}
	require.Contains(t, judge.Clips([]record.Record{r}, limits)[0].Findings[0].Notes, "The left camera converges alone, the right one rests.")

	limits = slices.DeleteFunc(judge.LimitSets[1].Limits(), func(l judge.Limit) bool { return l.Metric != "right_axis" })
	require.Len(t, limits, 1)
	require.Empty(t, judge.Clips([]record.Record{r}, limits)[0].Findings, "the left axis alone is as good as the right")

	r.Trailer.Pull[3].Moved.Left.Down = 0.2
	_, reason = pull.FindFocus(r)
	require.Equal(t, "the cameras move", reason)
	r.Trailer.Pull[3].Moved.Left.Down = 0
	for i := range r.Trailer.Pull { // a pan of the rig
		m := &r.Trailer.Pull[i].Moved
		m.Left.Across.Value += 0.1 * float64(i%3)
		m.Right.Across.Value += 0.1 * float64(i%3)
	}
	_, reason = pull.FindFocus(r)
	require.Equal(t, "the cameras move", reason)
	r.Trailer.Pull = r.Trailer.Pull[:1]
	r.Trailer.Pull[0].Moved.Right.Across = stat.Missing(geometry.SceneMoves)
	_, reason = pull.FindFocus(r)
	require.Equal(t, "the scene moves", reason)
}
