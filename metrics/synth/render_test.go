package synth

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
)

// sinc samples a plane between its pixels with a Lanczos kernel of 12 taps,
// whose error is far below what the tests look for.
func sinc(p picture.Plane, x, y float64) float64 {
	const a = 6
	kernel := func(d float64) float64 {
		if math.Abs(d) < 1e-9 {
			return 1
		}
		if math.Abs(d) >= a {
			return 0
		}
		return a * math.Sin(math.Pi*d) * math.Sin(math.Pi*d/a) / (math.Pi * math.Pi * d * d)
	}
	fx, fy := int(math.Floor(x)), int(math.Floor(y))
	var across [2 * a]float64
	for i := range across {
		across[i] = kernel(x - float64(fx-a+1+i))
	}
	sum, weight := 0.0, 0.0
	for v := fy - a + 1; v <= fy+a; v++ {
		ky := kernel(y - float64(v))
		row := p.Row(min(max(v, 0), p.Height-1))
		for i, kx := range across {
			k := ky * kx
			sum += k * float64(row[min(max(fx-a+1+i, 0), p.Width-1)])
			weight += k
		}
	}
	return sum / weight
}

// misplaced returns by how many pixels the right picture's content about the
// match of (x, y) lies off the truth, by least squares over a window that is
// warped pixel by pixel as the truth says. ok is false where there is too
// little texture, or where part of the window is hidden or depth jumps.
func misplaced(truth *Truth, left, right picture.Plane, x, y, reach int) (ex, ey float64, ok bool) {
	f := truth.Field()
	var a11, a12, a22, b1, b2, mean, n float64
	type sample struct{ gx, gy, e float64 }
	var samples []sample
	for v := y - reach; v <= y+reach; v++ {
		for u := x - reach; u <= x+reach; u++ {
			i := v*f.Width + u
			step := max(f.Parallax[i]-f.Parallax[i-1], f.Parallax[i-1]-f.Parallax[i], f.Parallax[i]-f.Parallax[i-f.Width], f.Parallax[i-f.Width]-f.Parallax[i])
			if !f.Seen[i] || step > 0.1 {
				return 0, 0, false
			}
			m, _ := truth.At(float64(u), float64(v))
			rx, ry := float64(u)+m.DX, float64(v)+m.DY
			gx := (sinc(right, rx+0.5, ry) - sinc(right, rx-0.5, ry))
			gy := (sinc(right, rx, ry+0.5) - sinc(right, rx, ry-0.5))
			e := float64(left.Row(v)[u]) - sinc(right, rx, ry)
			samples = append(samples, sample{gx, gy, e})
			mean += e
			n++
		}
	}
	mean /= n
	for _, s := range samples {
		a11 += s.gx * s.gx
		a12 += s.gx * s.gy
		a22 += s.gy * s.gy
		b1 += s.gx * (s.e - mean)
		b2 += s.gy * (s.e - mean)
	}
	det := a11*a22 - a12*a12
	// 16-bit code values: a slope of 3 in 1000 of full scale on average, both
	// ways and of like strength, since what aliases on a hard edge along one axis
	// would swamp weak grain along the other.
	if det <= 0 || min(a11, a22) < n*200*200 || det < 0.2*a11*a22 || min(a11, a22) < 0.25*max(a11, a22) {
		return 0, 0, false
	}
	return (a22*b1 - a12*b2) / det, (a11*b2 - a12*b1) / det, true
}

// The picture itself must be where the truth says, with all errors of the rig
// put in. Smoke, water and night are left out because what they show belongs
// to one eye, by design, or has no texture.
func TestContentMovesByTruth(t *testing.T) {
	rig := Rig{
		Camera:  CameraError{Tilt: 0.15, Pan: 0.2, Roll: 0.4, Focal: 0.006, Height: 0.05, Forward: 0.05},
		Picture: PictureError{Shift: 0.4, Roll: 0.3, Zoom: 0.5},
	}
	scenes := slices.Clone(Scenes)
	for _, name := range []string{"far country", "still life", "slope"} { // what mirrors nothing and repeats little
		s, ok := Named(name)
		require.True(t, ok)
		scenes = append(scenes, s)
	}
	for _, s := range scenes {
		if s.Name == "smoke" || s.Name == "water" || s.Name == "night" {
			continue
		}
		t.Run(s.Name, func(t *testing.T) {
			left, right, truth := Shot{Scene: s, Rig: rig, Width: 640, Height: 360, Depth: 16, Chroma: NoChroma}.Render(0.3)
			var xs, ys []float64
			for y := 25; y < 340; y += 37 {
				for x := 40; x < 600; x += 47 {
					if ex, ey, ok := misplaced(truth, left.Planes[0], right.Planes[0], x, y, 6); ok {
						xs, ys = append(xs, ex), append(ys, ey)
					}
				}
			}
			require.GreaterOrEqual(t, len(xs), 5, "places to look at")
			for _, v := range [][]float64{xs, ys} {
				slices.Sort(v)
				q := func(k float64) float64 { return v[int(k*float64(len(v)-1)+0.5)] }
				t.Logf("%d places: %+.4f px, quartiles %+.4f, %+.4f", len(v), q(0.5), q(0.25), q(0.75))
				require.InDelta(t, 0, q(0.5), 0.005, "median over the places, px")
				require.InDelta(t, 0, q(0.25), 0.02, "quartile")
				require.InDelta(t, 0, q(0.75), 0.02, "quartile")
			}
		})
	}
}

func TestRenderTwiceIsTheSame(t *testing.T) {
	scene, _ := Named("smoke")
	shot := Shot{Scene: scene, Noise: 2, Seed: 5, Width: 160, Height: 90, Shutter: 0.5, Late: 0.3, Skew: 0.2, Right: Light{Exposure: -1, Blur: 1}}
	left, right, _ := shot.Render(0.5)
	again, mate, _ := shot.Render(0.5)
	require.Equal(t, left, again)
	require.Equal(t, right, mate)
	shot.Seed++
	other, _, _ := shot.Render(0.5)
	require.NotEqual(t, left.Planes[0].Pix, other.Planes[0].Pix, "another seed is other noise")
}

func TestFrameLayouts(t *testing.T) {
	scene, _ := Named("yard")
	for _, c := range []struct {
		chroma        Chroma
		width, height int
	}{{Chroma422, 32, 46}, {Chroma420, 32, 23}, {Chroma444, 64, 46}} {
		f := Shot{Scene: scene, Width: 64, Height: 46, Chroma: c.chroma, Depth: 8}.Eye(LeftEye, 1)
		require.Equal(t, picture.YCbCr, f.Layout)
		require.Len(t, f.Planes, 3)
		require.Equal(t, 64, f.Width())
		require.Equal(t, 46, f.Height())
		require.Equal(t, 24, f.Index)
		for _, p := range f.Planes[1:] {
			require.Equal(t, c.width, p.Width)
			require.Equal(t, c.height, p.Height)
			require.Len(t, p.Pix, p.Stride*p.Height)
		}
		require.LessOrEqual(t, slices.Max(f.Planes[0].Pix), uint16(235))
		require.GreaterOrEqual(t, slices.Min(f.Planes[0].Pix), uint16(16))
	}
	grey := Shot{Scene: scene, Width: 64, Height: 46, Chroma: NoChroma, FullRange: true}.Eye(RightEye, 0)
	require.Equal(t, picture.Grey, grey.Layout)
	require.Equal(t, picture.FullRange, grey.Colour.Range)
	require.Len(t, grey.Planes, 1)
}

// The right eye of a flat rig sees what the left eye sees, but for what its
// camera does and for when it looks.
func TestFlatRigSeesTheSame(t *testing.T) {
	scene, _ := Named("crowd")
	shot := Shot{Scene: scene, Rig: Rig{Flat: true}, Width: 192, Height: 108}
	left, right, truth := shot.Render(1)
	require.Equal(t, left.Planes, right.Planes)
	require.InDelta(t, 0, truth.VerticalWorst(), 1e-9)

	shot.Late = 6
	require.Equal(t, shot.Eye(LeftEye, 0.75).Planes, shot.Eye(RightEye, 1).Planes, "six frames of a quarter second")
	require.Greater(t, shot.Truth(1).VerticalWorst(), 1.0, "balls that bob have moved")

	// With a skew of a frame the middle row is on time, and the top half a frame
	// early: it shows what the left eye shows half a frame later.
	shot.Late, shot.Skew = 0, 1
	late := shot.Eye(RightEye, 1).Planes[0]
	require.Equal(t, shot.Eye(LeftEye, 1+0.5*107/108/24).Planes[0].Row(0), late.Row(0))
}

func BenchmarkRender(b *testing.B) {
	for _, s := range Scenes {
		b.Run(s.Name, func(b *testing.B) {
			for b.Loop() {
				Shot{Scene: s, Noise: 1}.Render(0.5)
			}
		})
	}
}
