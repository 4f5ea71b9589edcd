package synth

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
)

// plain is a picture of one colour.
func plain(width, height int, c RGB) *linearPicture {
	p := newPicture(width, height)
	for i := 0; i < len(p.pix); i += 3 {
		p.pix[i], p.pix[i+1], p.pix[i+2] = float32(c.R), float32(c.G), float32(c.B)
	}
	return p
}

// Rec. ITU-R BT.1886: a signal of 0.4090077 is light of 0.1169919; BT.709-6
// item 4.6 puts black at 64 and white at 940 of 10 bits, without colour at 512.
func TestSignalLevels(t *testing.T) {
	for _, c := range []struct {
		light float64
		want  uint16
	}{{0, 64}, {1, 940}, {2, 940}, {-1, 64}, {0.1169919, 422}} {
		f := plain(2, 2, RGB{c.light, c.light, c.light}).frame(10, Chroma422, false, 0)
		require.Equal(t, c.want, f.Planes[0].Pix[0], "light %v", c.light)
		require.Equal(t, uint16(512), f.Planes[1].Pix[0])
		require.Equal(t, uint16(512), f.Planes[2].Pix[0])
	}
	red := plain(2, 2, RGB{1, 0, 0}).frame(8, Chroma444, false, 0)
	// 16 + 219·0.2126 = 62.6; 128 − 224·0.2126/1.8556 = 102.3; 128 + 224/2 = 240.
	require.Equal(t, []uint16{63, 102, 240}, []uint16{red.Planes[0].Pix[0], red.Planes[1].Pix[0], red.Planes[2].Pix[0]})
	full := plain(2, 2, RGB{1, 1, 1}).frame(12, NoChroma, true, 0)
	require.Equal(t, uint16(4095), full.Planes[0].Pix[0])
}

func TestLightOfOneEye(t *testing.T) {
	grey := RGB{0.2, 0.2, 0.2}
	for _, c := range []struct {
		name  string
		light Light
		want  RGB
	}{
		{"none", Light{}, grey},
		{"two stops less", Light{Exposure: -2}, RGB{0.05, 0.05, 0.05}},
		{"redder", Light{Red: 1}, RGB{0.4, 0.2, 0.2}},
		{"bluer and brighter", Light{Exposure: 0.5, Blue: 0.5}, RGB{0.2 * math.Sqrt2, 0.2 * math.Sqrt2, 0.4}},
		{"veiled", Light{Veil: 3}, RGB{0.23, 0.23, 0.23}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := plain(3, 3, grey)
			p.expose(c.light)
			at := 3 * 4 // the centre
			require.InDelta(t, c.want.R, p.pix[at], 1e-6)
			require.InDelta(t, c.want.G, p.pix[at+1], 1e-6)
			require.InDelta(t, c.want.B, p.pix[at+2], 1e-6)
		})
	}
	p := plain(3, 3, grey)
	p.expose(Light{Vignette: 0.25})
	require.InDelta(t, 0.15, p.pix[0], 1e-6)
	require.InDelta(t, 0.2, p.pix[3*4], 1e-6)

	// 64 + 876·0.02 = 81.5.
	require.Equal(t, uint16(82), plain(2, 2, RGB{}).frame(10, NoChroma, false, 2).Planes[0].Pix[0])
}

// A Gaussian of sigma 2 leaves exp(−2π²·4·f²) of a wave of f cycles per pixel.
func TestBlur(t *testing.T) {
	const f = 1.0 / 16
	p := newPicture(128, 16)
	for y := range p.height {
		for x := range p.width {
			for c := range 3 {
				p.row(y)[3*x+c] = float32(0.5 + 0.3*math.Cos(2*math.Pi*f*float64(x)))
			}
		}
	}
	p.blur(2)
	want := 0.5 + 0.3*math.Exp(-2*math.Pi*math.Pi*4*f*f)
	require.InDelta(t, want, p.row(8)[3*64], 2e-5)
}

func TestNoise(t *testing.T) {
	for _, light := range []float64{0.18, 0.05, 0.6} {
		p := plain(300, 200, RGB{light, light, light})
		p.grain(2, 99)
		f := p.frame(16, NoChroma, false, 0)
		var sum, squares float64
		for _, v := range f.Planes[0].Pix {
			e := float64(v)/256 - (16 + 219*signal(float32(light)))
			sum += e
			squares += e * e
		}
		n := float64(len(f.Planes[0].Pix))
		// Luma adds three channels with BT.709's weights; shot noise alone
		// changes with the light, and the curve's slope with it.
		luma := math.Sqrt(0.2126*0.2126 + 0.7152*0.7152 + 0.0722*0.0722)
		want := 2 * luma * math.Sqrt(0.75*light/0.18+0.25) * math.Pow(light/0.18, 1/2.4-1)
		require.InEpsilon(t, want, math.Sqrt(squares/n), 0.03, "light %v", light)
		require.InDelta(t, 0, sum/n, 0.05*want)
	}
}

// Noise put on a drawn frame must look like the noise of a drawn frame.
func TestNoisyLikeNoise(t *testing.T) {
	scene, _ := Named("yard")
	for _, chroma := range []Chroma{Chroma422, Chroma420, Chroma444} {
		shot := Shot{Scene: scene, Width: 320, Height: 180, Depth: 12, Chroma: chroma}
		clean := shot.Eye(LeftEye, 0)
		noisy := shot
		noisy.Noise = 1.5
		want := noisy.Eye(LeftEye, 0)
		got := Noisy(clean, 1.5, 12, 3)
		for i := range clean.Planes {
			var a, b float64
			for k, v := range clean.Planes[i].Pix {
				e, g := float64(want.Planes[i].Pix[k])-float64(v), float64(got.Planes[i].Pix[k])-float64(v)
				a, b = a+e*e, b+g*g
			}
			require.InEpsilon(t, math.Sqrt(a), math.Sqrt(b), 0.2, "plane %d of chroma %d", i, chroma)
		}
	}
	shot := Shot{Scene: scene, Width: 320, Height: 180, Depth: 12}
	coarse := Noisy(shot.Eye(LeftEye, 0), 0, 8, 0)
	shot.Depth = 8
	exact := shot.Eye(LeftEye, 0)
	require.Equal(t, 8, coarse.Depth)
	for i := range exact.Planes {
		for k, v := range exact.Planes[i].Pix {
			require.InDelta(t, float64(v), float64(coarse.Planes[i].Pix[k]), 1, "rounded twice")
		}
	}
}

func TestInjectedLight(t *testing.T) {
	scene, _ := Named("target")
	in := Shot{
		Scene: scene,
		Left:  Light{Exposure: 0.5, Blur: 1},
		Right: Light{Exposure: -1.5, Red: 0.2, Blue: -0.1, Lift: 3},
		Late:  0.25, Skew: -0.1,
	}.Truth(0).Injected
	require.Equal(t, -2.0, in.Exposure)
	require.Equal(t, 0.2, in.RedBalance)
	require.Equal(t, -0.1, in.BlueBalance)
	require.Equal(t, 3.0, in.BlackLift)
	require.InDelta(t, -2, in.Softness, 1e-12, "one pixel of 960 is two of 1920")
	require.Equal(t, 0.25, in.SyncOffset)
	require.Equal(t, -0.1, in.ReadoutSkew)
}

func TestEyesHaveTheirOwnNoise(t *testing.T) {
	scene, _ := Named("target")
	shot := Shot{Scene: scene, Rig: Rig{Flat: true}, Noise: 2, Width: 64, Height: 36}
	left, right, _ := shot.Render(0)
	later := shot.Eye(LeftEye, 1)
	differ := func(a, b *picture.Frame) int {
		n := 0
		for i, v := range a.Planes[0].Pix {
			if v != b.Planes[0].Pix[i] {
				n++
			}
		}
		return n
	}
	require.Greater(t, differ(left, right), 64*36*8/10)
	require.Greater(t, differ(left, later), 64*36*8/10)
}
