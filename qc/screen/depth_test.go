package screen

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestDepthOnAScreen(t *testing.T) {
	// Ten metres away from a screen as wide: similar triangles with eyes 65 mm
	// apart put +50 mm at 43.333 m and −100 mm at 3.939 m.
	s := Screen{Width: 10, View: 2 * math.Atan(0.5) * 180 / math.Pi}
	d := s.Depth(0.5, 2048)
	require.True(t, d.Sized)
	require.InDelta(t, 50, d.Millimetres, 1e-9)
	require.InDelta(t, 43.333, d.Distance, 1e-3)
	require.InDelta(t, 10.24, d.Pixels, 1e-9)
	require.InDelta(t, 34.377/2, d.Arcmin, 1e-3)
	require.InDelta(t, 3.939, s.Depth(-1, 2048).Distance, 1e-3)
	require.InDelta(t, 10, s.Depth(0, 2048).Distance, 1e-9, "on the screen")
	// 13.3 px of 2048 on 10 m are 65 mm.
	require.InDelta(t, 65, s.Depth(100*13.3/2048, 2048).Millimetres, 0.1)
	require.True(t, math.IsInf(s.Depth(0.65, 2048).Distance, 1))

	// 100·e/W: on 10 m, 0.5 % is as wide as the eyes of children, 0.65 % as those
	// of adults; on 1 m nothing of that size diverges.
	for _, c := range []struct {
		width, percent   float64
		adults, children bool
	}{
		{10, 0.66, true, true}, {10, 0.64, false, true}, {10, 0.51, false, true}, {10, 0.49, false, false},
		{10, -3, false, false}, {1, 4.9, false, false},
		// What is safe on a 46-inch television (1.018 m) is not in the cinema.
		{1.018, 2, false, false}, {10, 2, true, true},
	} {
		adults, children := Screen{Width: c.width}.Depth(c.percent, 1920).Diverges()
		require.Equal(t, c.adults, adults, "%v", c)
		require.Equal(t, c.children, children, "%v", c)
	}

	headset := Screen{View: 90}.Depth(2, 1920)
	require.False(t, headset.Sized)
	// 1 % of the width of a view of 90° is 0.02 of the distance in the middle.
	require.InDelta(t, 2*0.02*180/math.Pi*60, headset.Arcmin, 1e-9)
}

// The zone of comfort by its published linear form, worked by hand for eyes
// 63 mm apart. The coefficients are from memory; what they are held against here
// is the arithmetic, and that conflict behind the screen is worse on far screens
// and conflict in front of it on near ones, which the abstract says.
func TestZoneOfComfort(t *testing.T) {
	for _, c := range []struct{ distance, near, far float64 }{
		{0.5, -16.9, 19.5}, {1, -36, 31.9}, {2, -74.1, 56.5}, {3.2, -119.8, 63}, {10, -378.9, 63},
	} {
		near, far := comfortZone(c.distance, 63)
		require.InDelta(t, c.near, near, 0.06)
		require.InDelta(t, c.far, far, 0.06)
	}
	// As angles p/V, at 1 m: 123.7′ and 109.5′.
	near, far := comfortZone(1, 63)
	require.InDelta(t, 123.7, -near/1000*180/math.Pi*60, 0.1)
	require.InDelta(t, 109.5, far/1000*180/math.Pi*60, 0.1)
	// Dioptres in front of and behind the screen, without the bound at infinity.
	dioptres := func(v float64) (front, behind float64) {
		d := 1 / v
		return (d+0.626)/1.035 - d, d - (d-0.442)/1.129
	}
	farFront, farBehind := dioptres(10)
	require.InDelta(t, 0.60, farFront, 0.005)
	require.InDelta(t, 0.40, farBehind, 0.005)
	nearFront, nearBehind := dioptres(0.5)
	require.InDelta(t, 0.54, nearFront, 0.005)
	require.InDelta(t, 0.62, nearBehind, 0.005)

	_, _, ok := Screen{View: 60}.ComfortZone()
	require.False(t, ok)
	low, high, ok := Screen{Width: 2}.ComfortZone()
	require.True(t, ok)
	// It is wider than one degree on either side.
	require.Less(t, low*Screen{Width: 2}.ArcminPerPercent(), -60.0)
	require.Greater(t, high*Screen{Width: 2}.ArcminPerPercent(), 60.0)
}
