package focus

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/raster"
	"nightpair/metrics/stat"
)

// Well away from 0 the root of the difference; at 0 nothing.
func TestSignedRoot(t *testing.T) {
	for _, tt := range []struct{ square, s, sigma, deviation float64 }{
		{9, 0.06, 3, 0.01}, // dσ = ds/2σ
		{-4, 0.04, -2, 0.01},
		{0, 0.01, 0, 0.0691}, // √(s·√2·Γ(¾)/Γ(¼)), by hand
	} {
		sigma, deviation := signedRoot(tt.square, tt.s)
		require.InDelta(t, tt.sigma, sigma, 1e-3)
		require.InDelta(t, tt.deviation, deviation, 1e-4)
	}
	doubtful, _ := signedRoot(0.01, 0.01)
	require.Greater(t, doubtful, 0.03)
	require.Less(t, doubtful, 0.1, "its root")
}

// A sigma of one bin leaves 0.0848 of the power at a quarter of a cycle per bin:
// exp(−4π²σ²f²).
func TestGaussian(t *testing.T) {
	for _, tt := range []struct{ sigma, f, power float64 }{
		{1, 0.25, 0.0848}, {0.6, 0.25, math.Exp(-4 * stat.Sq(math.Pi*0.6*0.25))}, {3, 0.05, math.Exp(-4 * stat.Sq(math.Pi*3*0.05))},
	} {
		sum := 0.0
		kernel := raster.GaussianKernel(tt.sigma)
		for i, k := range kernel {
			sum += float64(k) * math.Cos(2*math.Pi*tt.f*float64(i-len(kernel)/2))
		}
		require.InDelta(t, tt.power, sum*sum, 0.01*tt.power)
	}
}

// A turned and enlarged pattern comes back as it was, with its power.
func TestAligner(t *testing.T) {
	const n = 64
	sin, cos := math.Sincos(1 * math.Pi / 180)
	sin, cos = 1.02*sin, 1.02*cos
	a := newAligner(cos, sin, n)
	require.NotNil(t, a)
	require.Nil(t, newAligner(1.0001, 0, n), "hardly enlarged")
	const wide, high = n / 2, n
	room := a.room(wide, high)
	w, h := wide+2*room, high+2*room
	src, dst, work := make([]float32, w*h), make([]float32, wide*high), make([]float32, w*h)
	for _, f := range [][2]float64{{0.1, 0.2}, {-0.05, 0.3}, {0.1, 0.38}} {
		pattern := func(x, y float64) float64 { return math.Cos(2*math.Pi*(f[0]*x+f[1]*y) + 0.3) }
		// The place (x, y) from the middle is shown at size·turn·(x, y) + (0.3, −0.4).
		for j := range h {
			for i := range w {
				x, y := float64(i)-float64(w-1)/2-0.3, float64(j)-float64(h-1)/2+0.4
				size := cos*cos + sin*sin
				src[j*w+i] = float32(pattern((cos*x+sin*y)/size, (cos*y-sin*x)/size))
			}
		}
		a.read(dst, src, work, wide, high, room, 0.3, -0.4)
		for j := range high {
			for i := range wide {
				want := pattern(float64(i)-float64(wide-1)/2, float64(j)-float64(high-1)/2)
				require.InDelta(t, want, dst[j*wide+i], 0.02, "%v at %d, %d", f, i, j)
			}
		}
	}
}
