package coarse_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/coarse"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// wide is a prior that knows nothing but how much parallax a picture may have.
var wide = coarse.Prior{Near: -0.2, Far: 0.2}

// Pictures without a fault and with one of everything, in noise: without knowing anything of
// the geometry, a frame is known to a hundredth of a per cent of its height. The tolerances
// are the project's own choice, a small part of what viewers detect (Report ITU-R BT.2293-0,
// Table 8: 0.7 %, 0.5°, 1.2 %).
func TestCompareDrawnScenes(t *testing.T) {
	scenes := []string{"street", "bricks", "night", "landscape", "posts"}
	if synth.LongSweeps() {
		scenes = nil
		for _, s := range synth.Scenes {
			scenes = append(scenes, s.Name)
		}
	}
	within, all := 0, 0
	for _, name := range scenes {
		s, ok := synth.Named(name)
		require.True(t, ok)
		shot := synth.Shot{Scene: s, Noise: 1.5}
		left := coarse.Reduce(shot.Eye(synth.LeftEye, 1))
		for _, fault := range []struct {
			picture  synth.PictureError
			exposure float64
		}{
			{},
			{synth.PictureError{Shift: 1.1, Roll: 0.5, Zoom: 0.8}, 0.3},
			{synth.PictureError{Shift: -2, Roll: -1, Zoom: -2}, -1},
		} {
			shot.Rig.Picture, shot.Right.Exposure = fault.picture, fault.exposure
			r := coarse.Compare(left, coarse.Reduce(shot.Eye(synth.RightEye, 1)), wide)
			require.Positive(t, r.Places, "%s %+v", name, fault)
			t.Logf("%s: %d places, %+.4f ± %.4f %%, %+.4f ± %.4f°, %+.4f ± %.4f %%, %+.4f ± %.4f stops", name, r.Places,
				r.Offset-fault.picture.Shift, r.OffsetSE, r.Roll-fault.picture.Roll, r.RollSE, r.Zoom-fault.picture.Zoom, r.ZoomSE, r.Exposure-fault.exposure, r.ExposureSE)
			require.InDelta(t, fault.picture.Shift, r.Offset, 0.05)
			require.InDelta(t, fault.picture.Roll, r.Roll, 0.05)
			require.InDelta(t, fault.picture.Zoom, r.Zoom, 0.12)
			// Means of signals that lamps and darkness share are no means of light.
			require.InDelta(t, fault.exposure, r.Exposure, 0.12)
			for _, e := range [][2]float64{
				{r.Offset - fault.picture.Shift, r.OffsetSE}, {r.Roll - fault.picture.Roll, r.RollSE}, {r.Zoom - fault.picture.Zoom, r.ZoomSE},
			} {
				if all++; math.Abs(e[0]) <= 2*e[1] {
					within++
				}
			}
		}
	}
	t.Logf("within two standard errors: %d of %d", within, all)
	require.GreaterOrEqual(t, float64(within), 0.85*float64(all))
}

// What the fine geometry gives beyond offset, roll and zoom is taken out.
func TestCompareTakesTheRestOut(t *testing.T) {
	s, _ := synth.Named("street")
	shot := synth.Shot{Scene: s, Noise: 1}
	left, right := coarse.Reduce(shot.Eye(synth.LeftEye, 0)), coarse.Reduce(shot.Eye(synth.RightEye, 0))
	prior := wide
	prior.Rest = func(x, y, _ float64) float64 { return 0.003 + 0.002*y }
	plain, less := coarse.Compare(left, right, wide), coarse.Compare(left, right, prior)
	require.InDelta(t, plain.Offset-0.3, less.Offset, 1e-3)
	require.InDelta(t, plain.Zoom-0.2, less.Zoom, 5e-3)
}

// Turned small pictures are those of turned frames.
func TestOriented(t *testing.T) {
	s, _ := synth.Named("street")
	frame := synth.Shot{Scene: s, Width: 480, Height: 270}.Eye(synth.LeftEye, 0)
	for _, o := range []picture.Orientation{picture.Upright, picture.Flop, picture.Flip, picture.Turn} {
		require.Equal(t, coarse.Reduce(frame.Oriented(o)).Pix, coarse.Reduce(frame).Oriented(o).Pix, "%v", o)
	}
}

// Pictures that show nothing, or not the same, are not compared.
func TestCompareNothing(t *testing.T) {
	grey := func(width, height int, v uint16) *coarse.Small {
		p := picture.Plane{Width: width, Height: height, Stride: width, Pix: make([]uint16, width*height)}
		for i := range p.Pix {
			p.Pix[i] = v
		}
		return coarse.Reduce(&picture.Frame{Planes: []picture.Plane{p}, Layout: picture.Grey, Depth: 8})
	}
	street, _ := synth.Named("street")
	foliage, _ := synth.Named("foliage")
	shown := coarse.Reduce(synth.Shot{Scene: street}.Eye(synth.LeftEye, 0))
	other := coarse.Reduce(synth.Shot{Scene: foliage}.Eye(synth.RightEye, 0))
	require.Zero(t, coarse.Compare(grey(960, 540, 90), grey(960, 540, 90), wide))
	require.Zero(t, coarse.Compare(shown, grey(960, 540, 90), wide))
	require.Zero(t, coarse.Compare(shown, grey(640, 480, 90), wide), "another size")
	require.Zero(t, coarse.Compare(grey(4, 3, 90), grey(4, 3, 90), wide))
	require.Zero(t, coarse.Compare(grey(1, 1, 90), grey(1, 1, 90), wide))
	require.Zero(t, coarse.Compare(shown, other, wide).Places)
}

func BenchmarkReduce(b *testing.B) {
	s, _ := synth.Named("street")
	frame := synth.Shot{Scene: s, Width: 1920, Height: 1080}.Eye(synth.LeftEye, 0)
	for b.Loop() {
		coarse.Reduce(frame)
	}
}

func BenchmarkCompare(b *testing.B) {
	s, _ := synth.Named("street")
	shot := synth.Shot{Scene: s}
	left, right := coarse.Reduce(shot.Eye(synth.LeftEye, 0)), coarse.Reduce(shot.Eye(synth.RightEye, 0))
	for b.Loop() {
		coarse.Compare(left, right, wide)
	}
}
