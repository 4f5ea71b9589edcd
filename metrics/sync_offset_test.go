package metrics_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
	"nightpair/metrics/timing"
)

// movingShot draws what a rig films around some instants of a scene. A drawn frame
// serves all cases in which its eye shows the same.
type movingShot struct {
	shot  synth.Shot
	times []float64
	left  map[float64]*picture.Frame
}

func Moving(t testing.TB, scene string, times []float64) *movingShot {
	s, ok := synth.Named(scene)
	require.True(t, ok)
	return filming(s, 24, times)
}

func filming(s synth.Scene, rate float64, times []float64) *movingShot {
	width, height := 320, 180
	if synth.LongSweeps() {
		width, height = 480, 270
	}
	return &movingShot{
		shot:  synth.Shot{Scene: s, Width: width, Height: height, Rate: rate, Noise: 1},
		times: times,
		left:  map[float64]*picture.Frame{},
	}
}

// bursts returns the bursts with the right eye late and skewed; rig, if given,
// says what the rig does over time.
func (f *movingShot) bursts(late, skew float64, rig func(at float64) synth.Rig) []*timing.Burst {
	var out []*timing.Burst
	for _, middle := range f.times {
		var pairs [3]*metrics.Pair
		for i := range pairs {
			at := middle + float64(i-1)/f.shot.Rate
			if f.left[at] == nil {
				f.left[at] = f.shot.Eye(synth.LeftEye, at)
			}
			right := f.shot
			right.Late, right.Skew = late, skew
			if rig != nil {
				right.Rig = rig(at)
			}
			pairs[i] = &metrics.Pair{Left: f.left[at], Right: right.Eye(synth.RightEye, at)}
		}
		out = append(out, metrics.NewBurst(pairs[0], pairs[1], pairs[2]))
	}
	return out
}

func lookup(t testing.TB, name string) metrics.Metric {
	m, ok := metrics.Lookup(name)
	require.True(t, ok, name)
	return m
}

// instants returns n instants, some tenths of a second apart.
func instants(n int, apart float64) (times []float64) {
	for i := range n {
		times = append(times, 0.5+apart*float64(i))
	}
	return times
}

// coverage counts how often the truth lies within two standard errors.
type coverage struct {
	name           string
	cases, within  int
	worst, worstSE float64
	square         float64 // sum of the squares of errors over standard errors
}

func (c *coverage) add(t testing.TB, what string, m stat.Measurement, want, tolerance float64) {
	require.True(t, m.OK(), "%s: %s", what, m.Missing)
	e := math.Abs(m.Value - want)
	require.LessOrEqual(t, e, tolerance, "%s: %s is %.4f ± %.4f, not %.4f", what, c.name, m.Value, m.SE, want)
	c.cases++
	if e <= 2*m.SE {
		c.within++
	}
	c.square += e * e / (m.SE * m.SE)
	c.worst, c.worstSE = max(c.worst, e), max(c.worstSE, m.SE)
}

func (c *coverage) report(t testing.TB) {
	t.Logf("%s: %d cases, worst error %.4f, worst standard error %.4f, within two of them %d, error over standard error %.2f rms",
		c.name, c.cases, c.worst, c.worstSE, c.within, math.Sqrt(c.square/float64(c.cases)))
}

// The tolerances are those of the issue that asked for this: 0.05 frame of
// sync, 15 % of a skew of 8 ms.
func TestSyncOffsetAndReadoutSkew(t *testing.T) {
	scenes, lates, n := []string{"crowd"}, []float64{0.1, 0.5, 0.9}, 4
	if synth.LongSweeps() {
		scenes = []string{"street", "bricks", "blinds", "crowd", "stairs", "yard", "corridor", "ground", "landscape", "posts"}
		lates, n = []float64{-0.4, 0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9}, 8
	}
	sync, skew := &coverage{name: "sync_offset"}, &coverage{name: "readout_skew"}
	for _, scene := range scenes {
		shot := Moving(t, scene, instants(n, 0.7))
		for _, late := range lates {
			b := shot.bursts(late, 0, nil)
			m := lookup(t, "sync_offset").Over(b)
			// Ground alone, which moves little up or down, is known less well and says so.
			sync.add(t, fmt.Sprintf("%s %.1f", scene, late), m, late, max(0.05, 2*m.SE))
			if m := lookup(t, "readout_skew").Over(b); m.OK() {
				skew.add(t, fmt.Sprintf("%s %.1f", scene, late), m, 0, 0.2)
			}
		}
	}
	sync.report(t)
	skew.report(t)
	if synth.LongSweeps() {
		for _, c := range []*coverage{sync, skew} {
			share := float64(c.within) / float64(c.cases)
			require.GreaterOrEqual(t, share, 0.9, c.name)
		}
	}
}

// At 60 frames a second a delay is as exact in frames where things move up or down as
// far in one: by a pixel and more of 540 lines, as a hand-held camera makes them.
func TestSyncOffsetAtSixtyFrames(t *testing.T) {
	scenes, lates, n := []string{"bricks"}, []float64{0.4}, 4
	if synth.LongSweeps() {
		scenes, lates, n = []string{"bricks", "stairs", "street", "yard", "crowd", "posts"}, []float64{-0.4, 0, 0.1, 0.3, 0.5, 0.9}, 8
	}
	c := &coverage{name: "sync_offset"}
	for _, name := range scenes {
		scene, ok := synth.Named(name)
		require.True(t, ok)
		// 0.12 degrees a frame at the most are 1.2 pixels, with a lens of 1.1 heights.
		scene.Camera = func(at float64) synth.Pose { return synth.Pose{Pitch: 3 * math.Sin(2.4*at), Yaw: 2 * math.Sin(1.7*at)} }
		shot := filming(scene, 60, instants(n, 0.7))
		for _, late := range lates {
			c.add(t, fmt.Sprintf("%s %.1f", name, late), lookup(t, "sync_offset").Over(shot.bursts(late, 0, nil)), late, 0.05)
		}
	}
	c.report(t)
}

// A camera that takes 8 ms to read its rows and looks into the mirror, at 25
// frames a second: its delay runs over 0.4 frame from top to bottom against the
// other one's (reference: δt(y) = δt₀ + T·(1 − 2y/H) with T = 0.2 frame).
func TestReadoutSkewOfAMirroredCamera(t *testing.T) {
	scenes, n := []string{"crowd"}, 4
	if synth.LongSweeps() {
		scenes, n = []string{"crowd", "stairs", "street", "yard"}, 8
	}
	for _, scene := range scenes {
		shot := Moving(t, scene, instants(n, 0.7))
		for _, want := range []float64{0.4, -0.4} {
			b := shot.bursts(0, want, nil)
			m := lookup(t, "readout_skew").Over(b)
			require.True(t, m.OK(), m.Missing)
			require.InDelta(t, want, m.Value, 0.15*0.4, scene)
			m = lookup(t, "sync_offset").Over(b)
			require.True(t, m.OK(), m.Missing)
			require.InDelta(t, 0, m.Value, 0.05, scene)
			if !synth.LongSweeps() {
				break
			}
		}
	}
}

// Clocks that differ by 50 parts per million over a minute: the right eye ends
// 0.072 frame later than it began.
func TestClockDrift(t *testing.T) {
	const seconds, million = 60.0, 1e6
	shot := Moving(t, "crowd", nil)
	for _, want := range []float64{50, 0} {
		var b []*timing.Burst
		for i := range 8 {
			at := 0.5 + seconds*float64(i)/7
			shot.times = []float64{at}
			b = append(b, shot.bursts(0.1+want/million*at*shot.shot.Rate, 0, nil)...)
		}
		m := timing.ClockDrift(b, shot.shot.Rate)
		require.True(t, m.OK(), m.Missing)
		require.InDelta(t, want, m.Value, 10)
		if want != 0 {
			require.Greater(t, m.Value, 2*m.SE, "seen")
		}
		if !synth.LongSweeps() {
			break
		}
	}
	require.False(t, timing.ClockDrift(nil, 24).OK())
}

// What the rig does while the camera moves is not the cameras' timing.
func TestADriftingTiltIsNoDelay(t *testing.T) {
	rigs := map[string]func(at float64) synth.Rig{
		"tilt that drifts": func(at float64) synth.Rig {
			return synth.Rig{Camera: synth.CameraError{Tilt: 0.05 * (at - 2) / 2}}
		},
	}
	if synth.LongSweeps() {
		rigs["roll and zoom that drift"] = func(at float64) synth.Rig {
			return synth.Rig{Picture: synth.PictureError{Roll: 0.05 * at, Zoom: 0.05 * at}}
		}
		rigs["misaligned"] = func(at float64) synth.Rig {
			return synth.Rig{Picture: synth.PictureError{Shift: 0.7, Roll: 0.5, Zoom: -1.2}, Camera: synth.CameraError{Height: 0.03}}
		}
	}
	shot := Moving(t, "stairs", instants(4, 0.8))
	for name, rig := range rigs {
		m := lookup(t, "sync_offset").Over(shot.bursts(0, 0, rig))
		require.True(t, m.OK(), "%s: %s", name, m.Missing)
		require.InDelta(t, 0, m.Value, 0.05, name)
		require.LessOrEqual(t, math.Abs(m.Value), 3*m.SE, name)
	}
}

func TestNoVerticalMotionShowsNoDelay(t *testing.T) {
	still, ok := synth.Named("street")
	require.True(t, ok)
	world := still.World(0)
	still.World = func(float64) synth.World { return world }
	cameras := map[string]func(at float64) synth.Pose{
		"level pan": func(at float64) synth.Pose { return synth.Pose{Yaw: 2 * at} },
	}
	if synth.LongSweeps() {
		cameras["locked off"] = nil
		cameras["level move"] = func(at float64) synth.Pose { return synth.Pose{At: synth.Vec{X: 0.3 * at}} }
	}
	for name, camera := range cameras {
		still.Camera = camera
		f := &movingShot{shot: synth.Shot{Scene: still, Width: 320, Height: 180, Rate: 24, Noise: 1}, times: instants(4, 1), left: map[float64]*picture.Frame{}}
		b := f.bursts(0.5, 0, nil)
		for _, metric := range []string{"sync_offset", "readout_skew"} {
			m := lookup(t, metric).Over(b)
			require.False(t, m.OK(), "%s: %s %.3f ± %.3f", name, metric, m.Value, m.SE)
			require.Equal(t, "not observable: too little vertical motion", m.Missing, name)
		}
	}
}

func TestNoBurstsShowNoDelay(t *testing.T) {
	m := lookup(t, "sync_offset").Over(nil)
	require.False(t, m.OK())
	require.NotEmpty(t, m.Missing)
	grey := &picture.Frame{Planes: []picture.Plane{{Width: 480, Height: 270, Stride: 480, Pix: make([]uint16, 480*270)}}, Depth: 8, Time: time.Second}
	pair := &metrics.Pair{Left: grey, Right: grey}
	b := metrics.NewBurst(pair, pair, pair)
	require.Equal(t, time.Second, b.Time)
	m = lookup(t, "sync_offset").Over([]*timing.Burst{b, b, b, b})
	require.Equal(t, "too little texture", m.Missing)
}
