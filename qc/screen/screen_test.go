package screen

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc/record"
)

// exactArcmin is the angle of a parallax of p metres at the viewing distance v
// for eyes e apart, without the small-angle form.
func exactArcmin(p, v, e float64) float64 {
	return (2*math.Atan(e/(2*v)) - 2*math.Atan((e-p)/(2*v))) * 180 / math.Pi * 60
}

func TestAnglesOnScreens(t *testing.T) {
	// A picture 1 m wide and 1.6875 m away, 3 of its heights: 1 % of its width is
	// 20.3718′, or 20.3654′ for eyes 65 mm apart (plane geometry).
	s := Screen{Width: 1}
	require.InDelta(t, 1.6875, s.Distance(), 1e-12)
	require.InDelta(t, 20.3718, s.ArcminPerPercent(), 1e-4)
	require.InDelta(t, 20.3654, exactArcmin(0.01, 1.6875, 0.065), 1e-4)
	// 60′ at three picture heights is 2.945 % of the width whatever its size.
	require.InDelta(t, 2.945, 60/s.ArcminPerPercent(), 5e-4)
	require.InDelta(t, 2.945, 60/Screen{Width: 12}.ArcminPerPercent(), 5e-4)

	// A screen as wide as it is far: 20.48 px of 2048 are 0.1 m on 10 m, 34.377′;
	// −40.96 px are −68.755′, exactly −68.750′.
	s = Screen{Width: 10, View: 2 * math.Atan(0.5) * 180 / math.Pi}
	require.InDelta(t, 10, s.Distance(), 1e-9)
	require.InDelta(t, 34.377, 1*s.ArcminPerPercent(), 1e-3)
	require.InDelta(t, -68.755, -2*s.ArcminPerPercent(), 1e-3)
	require.InDelta(t, -68.750, exactArcmin(-0.2, 10, 0.065), 1e-3)

	// What the comment of ArcminPerPercent promises.
	for _, v := range []float64{0.5, 1, 3, 10} {
		for arcmin := -120.0; arcmin <= 120; arcmin += 10 {
			p := v * arcmin / 60 * math.Pi / 180
			require.InDelta(t, exactArcmin(p, v, 0.065), arcmin, 0.006*120)
		}
	}
}

func TestLengthsOnScreens(t *testing.T) {
	// Percent of width at which parallax reaches the distance between the eyes:
	// 100 e / W.
	for _, c := range []struct{ width, e, percent float64 }{
		{0.5, 60, 12}, {1, 65, 6.5}, {2, 63, 3.15}, {5, 65, 1.3}, {10, 60, 0.6},
		{10, 65, 0.65}, {12, 65, 0.542}, {15, 65, 0.433}, {20, 65, 0.325},
	} {
		mm, ok := Screen{Width: c.width}.MillimetresPerPercent()
		require.True(t, ok)
		require.InDelta(t, c.percent, c.e/mm, 5e-4)
	}
	// 2 % on a 46-inch television (1.018 m) are 20.4 mm, on 10 m 200 mm.
	mm, _ := Screen{Width: 1.018}.MillimetresPerPercent()
	require.InDelta(t, 20.4, 2*mm, 0.05)
	_, ok := Screen{View: 90}.MillimetresPerPercent()
	require.False(t, ok)
}

func TestScreenLabel(t *testing.T) {
	for want, s := range map[string]Screen{
		"a screen 1 m wide watched from 3 picture heights (1.69 m), assumed since none was named": {},
		"a screen 10 m wide watched from 3 picture heights (16.9 m)":                              {Width: 10},
		"a screen 10 m wide watched from 3 picture heights (12.5 m)":                              {Width: 10, Aspect: 2.4},
		"a picture that fills 90° of the view":                                                    {View: 90},
		"a screen 12.5 m wide that fills 40° of the view (watched from 17.2 m)":                   {Width: 12.5, View: 40},
	} {
		require.Equal(t, want, s.String())
		require.NoError(t, s.Check())
	}
	for _, s := range []Screen{{Width: -1}, {Width: math.NaN()}, {View: 180}, {View: -3}, {Width: math.Inf(1)}, {Width: 1200}, {Width: 0.001}, {View: 0.5}, {View: 175}} {
		require.Error(t, s.Check())
	}
}

func TestScreenTakesTheShapeOfThePictures(t *testing.T) {
	header := func(w, h int, pixel float64, p record.Packing) record.Record {
		return record.Record{Header: record.Header{EyeWidth: w, EyeHeight: h, PixelAspect: pixel, Setup: record.Setup{Packing: p}}}
	}
	require.Equal(t, Screen{}, Screen{}.Showing(nil))
	require.Equal(t, Screen{Width: 3}, Screen{Width: 3}.Showing([]record.Record{header(1920, 1080, 0, record.Separate), header(960, 1080, 2, record.SideBySide)}))
	require.InDelta(t, 2.4, Screen{}.Showing([]record.Record{header(1920, 800, 1, record.Separate), header(960, 400, 1, record.Separate), header(1920, 1080, 1, record.Separate)}).Aspect, 1e-9)
	require.InDelta(t, 4.0/3, Screen{}.Showing([]record.Record{header(720, 576, 16.0/15, record.Separate)}).Aspect, 1e-3)
	require.Equal(t, 2.0, Screen{Aspect: 2}.Showing([]record.Record{header(1920, 800, 1, record.Separate)}).Aspect)
}
