package timing_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
	"nightpair/metrics/timing"
)

// anyStart returns the slip of two files as a lag that is then seen in frames.
func anyStart(left, right []*picture.Signature) stat.Measurement {
	lags := timing.FindLags(timing.MotionMaps(left), timing.MotionMaps(right), 5)
	slip, _ := timing.SlipAmong(left, right, lags)
	return slip
}

// People in a street, the right file begun earlier or later by any number of frames that leaves
// two seconds of ten frames each.
func TestFindLagAtAnyStart(t *testing.T) {
	s := realEyes(t, pedestrians)
	const n, most = 200, 180
	step := 23
	if synth.LongSweeps() {
		step = 1
	}
	for from := 0; from+n+most <= len(s.left); from += 190 {
		for slip := 1; slip <= most; slip += step {
			for _, swapped := range []bool{false, true} {
				left, right, want := s.left[from+slip:][:n], s.right[from:][:n], slip
				if swapped {
					left, right, want = s.left[from:][:n], s.right[from+slip:][:n], -slip
				}
				got := anyStart(left, right)
				require.True(t, got.OK(), "from %d, %d: %s", from, want, got.Missing)
				require.InDelta(t, want, got.Value, 0.2)
			}
		}
	}
	// One eye is mirrored, and the files differ in length.
	left, right := s.left[400:600], make([]*picture.Signature, 500)
	for _, o := range []picture.Orientation{picture.Flop, picture.Flip, picture.Turn} {
		for i := range right {
			right[i] = s.right[i+20].Oriented(o)
		}
		got := anyStart(left, right)
		require.True(t, got.OK(), "%s: %s", o, got.Missing)
		require.InDelta(t, 380, got.Value, 0.2)
		require.False(t, timing.Elsewhere(timing.MotionMaps(left), timing.MotionMaps(right)), o)
	}
}

// Takes that have no frame in common, of one place and of several: none of them gets a slip, and
// all show different moments.
func TestElsewhereOfDifferentTakes(t *testing.T) {
	street, trailer, phone := realEyes(t, pedestrians), realEyes(t, cartoon), realEyes(t, handHeld)
	rng := rand.New(rand.NewPCG(3, 4))
	takes := 40
	if synth.LongSweeps() {
		takes = 200
	}
	for i := range takes {
		var left, right []*picture.Signature
		n := 60 + rng.IntN(140)
		switch i % 5 {
		default: // the street before and after
			from := rng.IntN(len(street.left) - 2*n)
			left, right = street.left[from:][:n], street.right[from+n+rng.IntN(len(street.left)-from-2*n+1):][:n]
			if i%2 == 0 {
				left, right = street.left[from+n:][:n], street.right[from:][:n]
			}
		case 3:
			n = min(n, 120)
			left, right = street.left[rng.IntN(500):][:n], trailer.right[rng.IntN(len(trailer.left)-n):][:n]
		case 4:
			left, right = phone.left, street.right[rng.IntN(500):][:n]
		}
		require.False(t, anyStart(left, right).OK(), "pair %d", i)
		require.False(t, timing.FindSlip(left, right, 48).OK(), "pair %d", i)
		require.True(t, timing.Elsewhere(timing.MotionMaps(left), timing.MotionMaps(right)), "pair %d of %d frames", i, n)
	}
}

// Eyes of one moment are never said to show different ones, whatever moves and how little, in
// what light and noise, with how much parallax; and no lag is wrong.
func TestElsewhereNeverOfOneMoment(t *testing.T) {
	names := []string{"street", "bricks", "smoke"}
	if synth.LongSweeps() {
		names = nil
		for _, s := range synth.Scenes {
			names = append(names, s.Name)
		}
	}
	for _, name := range names {
		s := drawnScene(t, name)
		for _, slip := range []int{0, -31, 90} {
			left, right := s.left[max(slip, 0):], s.right[max(-slip, 0):]
			require.False(t, timing.Elsewhere(timing.MotionMaps(left), timing.MotionMaps(right)), "%s, %d", name, slip)
			if got := anyStart(left, right); got.OK() {
				require.InDelta(t, slip, got.Value, 0.49, name)
			}
		}
	}
	rng := rand.New(rand.NewPCG(5, 6))
	street := realEyes(t, pedestrians)
	left := street.left[100:400]
	for _, fault := range []struct {
		name string
		do   func(s *picture.Signature)
	}{
		{"two stops darker", func(s *picture.Signature) { each(s, func(_, _ int, v float32) float32 { return v / 4 }) }},
		{"noisy", func(s *picture.Signature) {
			each(s, func(_, _ int, v float32) float32 { return v + 4*float32(rng.NormFloat64()) })
		}},
		{"6 % parallax and 5 % lower", func(s *picture.Signature) {
			from := *s
			each(s, func(i, j int, _ float32) float32 { return from.Luma[max(j-2, 0)][max(i-4, 0)] })
		}},
		{"half in the dark", func(s *picture.Signature) {
			each(s, func(i, _ int, v float32) float32 {
				if i < picture.SignatureWidth/2 {
					return 16
				}
				return v
			})
		}},
	} {
		right := make([]*picture.Signature, len(left))
		for i := range right {
			s := *street.right[100+i]
			fault.do(&s)
			right[i] = &s
		}
		require.False(t, timing.Elsewhere(timing.MotionMaps(left), timing.MotionMaps(right)), fault.name)
	}
	// Every hundredth frame is missing: no single lag fits.
	var fast []*picture.Signature
	for i, s := range street.right {
		if i%100 != 0 {
			fast = append(fast, s)
		}
	}
	require.False(t, timing.Elsewhere(timing.MotionMaps(street.left), timing.MotionMaps(fast)))
}

func each(s *picture.Signature, do func(i, j int, v float32) float32) {
	for j := range s.Luma {
		for i, v := range s.Luma[j] {
			s.Luma[j][i] = do(i, j, v)
		}
	}
}

// Where a scene repeats itself, lies still or only flickers, no lag is told, and no difference.
func TestFindLagOfWhatRepeats(t *testing.T) {
	s := realEyes(t, pedestrians)
	const period = 40
	var left, right []*picture.Signature
	for i := range 6 * period {
		left = append(left, s.left[100+i%period])
		right = append(right, s.right[100+(i+13)%period])
	}
	got := anyStart(left, right)
	require.False(t, got.OK(), "%.2f", got.Value)
	require.False(t, timing.Elsewhere(timing.MotionMaps(left), timing.MotionMaps(right)))

	rng := rand.New(rand.NewPCG(7, 8))
	noisy := func(of *picture.Signature, light func(i int) float32) (list []*picture.Signature) {
		for i := range 300 {
			n := *of
			each(&n, func(_, _ int, v float32) float32 { return v*light(i) + 0.5*float32(rng.NormFloat64()) })
			list = append(list, &n)
		}
		return list
	}
	steady := func(int) float32 { return 1 }
	lamp := func(i int) float32 { return 1 + 0.1*float32(i%5) }
	for _, light := range []func(int) float32{steady, lamp} {
		left, right = noisy(s.left[0], light), noisy(s.right[0], light)
		got = anyStart(left, right)
		require.False(t, got.OK(), "%.2f", got.Value)
		require.False(t, timing.Elsewhere(timing.MotionMaps(left), timing.MotionMaps(right)))
	}
	require.Equal(t, 1.0, timing.FindLag(nil, nil).Chance)
	require.False(t, timing.Elsewhere(nil, nil))
}
