package timing_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
	"nightpair/metrics/timing"
)

// MovingMatch pictures from Debian's packages.
const (
	pedestrians = "/usr/share/doc/opencv-doc/examples/data/vtest.avi"                          // opencv-doc: a street with people, camera at rest
	cartoon     = "/usr/share/doc/opencv-doc/examples/data/Megamind.avi"                       // opencv-doc: a trailer with cuts
	handHeld    = "/usr/share/forensics-samples/original-files/movie1/VID_20191220_170832.mp4" // forensics-samples-files: from a phone, 1.4 s
	needMovies  = "install the Debian packages ffmpeg, opencv-doc and forensics-samples-files"
)

// signatures of both eyes, consecutive frames.
type signed struct{ left, right []*picture.Signature }

// offset returns n frames of each eye from a place on, the right eye's showing
// the same slip frames later.
func (s signed) offset(from, n, slip int) signed {
	return signed{s.left[from:][:n], s.right[from-slip:][:n]}
}

// drawnRun is how many frames of a drawn scene are compared, seven seconds at 24 a
// second; 48 more are drawn before and after.
const drawnRun = 168

type drawing struct {
	scene string
	rate  float64
	run   int
}

var (
	drawnSignatures = map[drawing]signed{}
	realSignatures  = map[string]signed{}
)

// drawnEyes draws both eyes of a moving scene, coarse and with noise.
func drawnEyes(t testing.TB, scene synth.Scene, rate float64, run int) signed {
	key := drawing{scene.Name, rate, run}
	s, ok := drawnSignatures[key]
	if !ok {
		shot := synth.Shot{Scene: scene, Width: 64, Height: 36, Rate: rate, Noise: 0.5}
		for i := range run + 96 {
			at := float64(i) / shot.Rate
			s.left = append(s.left, shot.Eye(synth.LeftEye, at).Signature())
			s.right = append(s.right, shot.Eye(synth.RightEye, at).Signature())
		}
		drawnSignatures[key] = s
	}
	return s
}

func drawnScene(t testing.TB, name string) signed {
	scene, ok := synth.Named(name)
	require.True(t, ok)
	return drawnEyes(t, scene, 24, drawnRun)
}

// realEyes makes a pair of a moving picture: the right eye's is bent sideways as
// depth does, up to 2 % of its width, sits a little lower and is darker; both have
// noise of their own.
func realEyes(t testing.TB, path string) signed {
	if s, ok := realSignatures[path]; ok {
		return s
	}
	const w, h = 192, 108
	out, err := exec.Command("ffmpeg", "-v", "error", "-i", path, "-fps_mode", "passthrough",
		"-vf", fmt.Sprintf("scale=%d:%d:flags=area,format=gray", w, h), "-f", "rawvideo", "-").Output()
	require.NoError(t, err, needMovies)
	rng := rand.New(rand.NewPCG(1, 2))
	frame := func(at func(x, y int) float64) *picture.Signature {
		p := picture.Plane{Width: w, Height: h, Stride: w, Pix: make([]uint16, w*h)}
		for y := range h {
			for x := range w {
				p.Row(y)[x] = uint16(min(max(at(x, y)+2*rng.NormFloat64()+0.5, 0), 255))
			}
		}
		return (&picture.Frame{Planes: []picture.Plane{p}, Depth: 8}).Signature()
	}
	var s signed
	for picture := range slices.Chunk(out, w*h) {
		s.left = append(s.left, frame(func(x, y int) float64 { return float64(picture[y*w+x]) }))
		s.right = append(s.right, frame(func(x, y int) float64 {
			parallax := 0.02 * w * (0.3 + 0.7*math.Sin(5*float64(y)/h)*math.Cos(4*float64(x)/w))
			u := min(max(float64(x)-parallax, 0), w-2)
			row := picture[max(y-1, 0)*w:]
			i := int(u)
			v := float64(row[i]) + (u-float64(i))*(float64(row[i+1])-float64(row[i]))
			return 0.9*v + 4
		}))
	}
	require.NotEmpty(t, s.left)
	realSignatures[path] = s
	return s
}

// requireSlips holds what is found at all offsets against them.
func requireSlips(t *testing.T, name string, s signed, from, n, reach, step int) {
	t.Helper()
	for slip := -reach; slip <= reach; slip += step {
		piece := s.offset(from, n, slip)
		got := timing.FindSlip(piece.left, piece.right, reach)
		require.True(t, got.OK(), "%s, %d: %s (clear %.2f)", name, slip, got.Missing, got.Clear)
		require.InDelta(t, slip, got.Value, 0.49, "%s, ± %.2f", name, got.SE)
	}
}

func TestFindSlipOfDrawnScenes(t *testing.T) {
	scenes := map[drawing][]string{
		{rate: 24, run: drawnRun}: {"crowd"},
		{rate: 60, run: drawnRun}: {"stairs"},
	}
	if synth.LongSweeps() {
		scenes = map[drawing][]string{
			{rate: 24, run: drawnRun}: {"crowd", "stairs", "blinds", "yard", "ground", "water", "portrait", "landscape"},
			{rate: 60, run: 7 * 60}:   {"crowd", "stairs"},
		}
	}
	for how, names := range scenes {
		for _, name := range names {
			scene, ok := synth.Named(name)
			require.True(t, ok)
			requireSlips(t, fmt.Sprintf("%s, %g frames a second", name, how.rate), drawnEyes(t, scene, how.rate, how.run), 48, how.run, 48, 1)
		}
	}
}

// A camera held by hand shows the slip in every scene, whatever the frame rate.
func TestFindSlipOfHandHeldCameras(t *testing.T) {
	names, rates, step := []string{"bricks"}, []float64{60}, 8
	if synth.LongSweeps() {
		names = []string{"street", "bricks", "blinds", "foliage", "portrait", "corridor", "target", "landscape", "ground", "posts", "crowd", "stairs", "yard"}
		rates, step = []float64{24, 30, 60}, 1
	}
	for _, name := range names {
		scene, ok := synth.Named(name)
		require.True(t, ok)
		scene.Name += ", hand-held"
		scene.Camera = handHeldCamera
		for _, rate := range rates {
			run := int(4 * rate)
			s := drawnEyes(t, scene, rate, run)
			requireSlips(t, fmt.Sprintf("%s, %g frames a second", name, rate), s, 48, run, 48, step)
		}
	}
}

// handHeldCamera turns about as a hand does, by up to six degrees a second.
func handHeldCamera(at float64) synth.Pose {
	return synth.Pose{
		Pitch: 0.8*math.Sin(2*math.Pi*0.9*at) + 0.3*math.Sin(2*math.Pi*2.3*at+1),
		Yaw:   0.9*math.Sin(2*math.Pi*0.7*at+2) + 0.3*math.Sin(2*math.Pi*1.9*at),
	}
}

func TestFindSlipOfRealMovingPictures(t *testing.T) {
	step := 6
	if synth.LongSweeps() {
		step = 1
	}
	requireSlips(t, "pedestrians", realEyes(t, pedestrians), 60, 200, 48, step)
	requireSlips(t, "cartoon", realEyes(t, cartoon), 60, 150, 48, step)
	requireSlips(t, "hand-held", realEyes(t, handHeld), 3, 35, 3, 1)
}

// Any scene that it is asked of gives the right number or none.
func TestFindSlipNeverGivesAWrongNumber(t *testing.T) {
	frozen := func(name, as string, camera func(at float64) synth.Pose) synth.Scene {
		scene, ok := synth.Named(name)
		require.True(t, ok)
		world := scene.World(0)
		scene.World = func(float64) synth.World { return world }
		scene.Camera, scene.Name = camera, as
		return scene
	}
	still := pannedStill(t)
	for _, pace := range []float64{0, 0.7, 2.5} {
		left, right := still(pace, 0), still(pace, 3)
		got := timing.FindSlip(left, right, 48)
		require.False(t, got.OK(), "steady pan of %.1f pixels per frame: %.2f ± %.2f", pace, got.Value, got.SE)
		require.Contains(t, got.Missing, "not observable")
	}
	var scenes []synth.Scene
	if synth.LongSweeps() {
		scenes = append(scenes, synth.Scenes...)
		scenes = append(scenes,
			frozen("bricks", "locked off", nil),
			frozen("stairs", "steady pan", func(at float64) synth.Pose { return synth.Pose{Yaw: -6 + 1.2*at} }),
			frozen("landscape", "pan over a distance", func(at float64) synth.Pose { return synth.Pose{Yaw: -6 + 1.2*at} }),
			frozen("stairs", "steady tracking", func(at float64) synth.Pose { return synth.Pose{At: synth.Vec{X: -1 + 0.2*at}} }),
			frozen("street", "steady dolly", func(at float64) synth.Pose { return synth.Pose{At: synth.Vec{Z: 0.3 * at}} }),
			frozen("target", "steady tilt", func(at float64) synth.Pose { return synth.Pose{Pitch: -3 + 0.6*at} }),
		)
	}
	for _, scene := range scenes {
		for _, how := range []drawing{{rate: 24, run: drawnRun}, {rate: 60, run: drawnRun}, {rate: 60, run: 7 * 60}} {
			s := drawnEyes(t, scene, how.rate, how.run)
			seen, roughly := 0, 0
			for slip := -48; slip <= 48; slip += 4 {
				piece := s.offset(48, how.run, slip)
				got := timing.FindSlip(piece.left, piece.right, 48)
				if got.OK() {
					seen++
					require.InDelta(t, slip, got.Value, 0.49, "%s, %g a second, ± %.2f, clear %.2f", scene.Name, how.rate, got.SE, got.Clear)
					continue
				}
				require.Contains(t, got.Missing, "not observable", scene.Name)
				if got.Rough.OK() {
					roughly++
				}
			}
			t.Logf("%s, %d frames at %g a second: seen at %d of 25 offsets, roughly at %d", scene.Name, how.run, how.rate, seen, roughly)
			switch {
			case scene.Name == "locked off" || scene.Name == "steady pan":
				require.Zero(t, seen, scene.Name)
			case how.rate == 24 && slices.Contains([]string{"street", "bricks", "corridor", "smoke"}, scene.Name):
				require.GreaterOrEqual(t, seen, 20, scene.Name)
				require.Equal(t, 25, seen+roughly, scene.Name)
			}
		}
	}
}

// pannedStill returns a function that pans over a still at so many pixels of 192
// per frame, from a place on, with noise.
func pannedStill(t testing.TB) func(pace, from float64) []*picture.Signature {
	const w, h, frames = 192, 108, 168
	out, err := exec.Command("ffmpeg", "-v", "error", "-i", "/usr/lib/python3/dist-packages/skimage/data/motorcycle_left.png",
		"-vf", "scale=768:512:flags=area,format=gray", "-f", "rawvideo", "-").Output()
	require.NoError(t, err, "install the Debian packages ffmpeg and python3-skimage")
	return func(pace, from float64) []*picture.Signature {
		rng := rand.New(rand.NewPCG(uint64(from), 2))
		var list []*picture.Signature
		for i := range frames {
			p := picture.Plane{Width: w, Height: h, Stride: w, Pix: make([]uint16, w*h)}
			for y := range h {
				row := out[(200+y)*768:]
				for x := range w {
					u := 40 + from + pace*float64(i) + float64(x)
					k := int(u)
					v := float64(row[k]) + (u-float64(k))*(float64(row[k+1])-float64(row[k]))
					p.Row(y)[x] = uint16(min(max(v+2*rng.NormFloat64()+0.5, 0), 255))
				}
			}
			list = append(list, (&picture.Frame{Planes: []picture.Plane{p}, Depth: 8}).Signature())
		}
		return list
	}
}

// A slip beyond the reach is not taken for one within it.
func TestFindSlipBeyondItsReach(t *testing.T) {
	s := realEyes(t, pedestrians)
	for _, slip := range []int{-75, -60, 55, 80} {
		piece := s.offset(100, 200, slip)
		got := timing.FindSlip(piece.left, piece.right, 48)
		require.False(t, got.OK(), "%d: %.2f ± %.2f, clear %.2f", slip, got.Value, got.SE, got.Clear)
	}
}

func TestFindSlipOfTooLittle(t *testing.T) {
	require.NotEmpty(t, timing.FindSlip(nil, nil, 48).Missing)
	s := realEyes(t, handHeld)
	piece := s.offset(6, 12, 0)
	require.False(t, timing.FindSlip(piece.left, piece.right, 6).OK())
}

func TestSignature(t *testing.T) {
	f := &picture.Frame{Depth: 10, Planes: []picture.Plane{{Width: 131, Height: 75, Stride: 140, Pix: make([]uint16, 140*75)}}}
	for y := range 75 {
		for x := range 131 {
			f.Planes[0].Row(y)[x] = uint16(4 * (x + y))
		}
	}
	s := f.Signature()
	// Cells are 131/64 samples wide and 75/36 high: the first takes 3/64 and 3/36 of the third.
	corner := (1+2*3/64.0)/(131/64.0) + (1+2*3/36.0)/(75/36.0)
	require.InDelta(t, corner, s.Luma[0][0], 1e-4)
	require.InDelta(t, 130+74-corner, s.Luma[35][63], 1e-4)
	turned := s.Oriented(picture.Turn)
	require.Equal(t, s.Luma[0][0], turned.Luma[35][63])
	require.Equal(t, s.Luma[0][5], s.Oriented(picture.Flop).Luma[0][58])
	require.Equal(t, s.Luma[3][5], s.Oriented(picture.Flip).Luma[32][5])
	require.Same(t, s, s.Oriented(picture.Upright))

	small := &picture.Frame{Depth: 8, Planes: []picture.Plane{{Width: 8, Height: 4, Stride: 8, Pix: slices.Repeat([]uint16{7}, 32)}}}
	require.EqualValues(t, 7, small.Signature().Luma[20][40])
}

func BenchmarkSignature(b *testing.B) {
	f := &picture.Frame{Depth: 10, Planes: []picture.Plane{{Width: 1920, Height: 1080, Stride: 1920, Pix: make([]uint16, 1920*1080)}}}
	for b.Loop() {
		f.Signature()
	}
}

// A clip of 41 frames from a hand-held phone, one eye's file starting later: what
// leaves a second of 25 frames in common is exact, and where less is, nothing wrong
// is said.
func TestFindSlipOfAShortClip(t *testing.T) {
	const common = 25
	s := realEyes(t, handHeld)
	n := len(s.left)
	require.Equal(t, 41, n)
	for slip := -n + 1; slip < n; slip++ {
		got := timing.FindSlip(s.left[max(slip, 0):], s.right[max(-slip, 0):], 48)
		if got.OK() {
			require.InDelta(t, slip, got.Value, 0.1)
		}
		if max(slip, -slip) <= n-common {
			require.True(t, got.OK(), "%d: %s", slip, got.Missing)
		}
	}
}
