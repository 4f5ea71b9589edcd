package metrics_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

var oneEye = []string{"blank", "clipping", "noise", "combing", "overlay", "rivalry"}

// retouched returns a copy of a frame whose planes may be painted on.
func retouched(f *picture.Frame) *picture.Frame {
	out := *f
	out.Planes = nil
	for _, p := range f.Planes {
		p.Pix = append([]uint16(nil), p.Pix...)
		out.Planes = append(out.Planes, p)
	}
	return &out
}

// fill gives a rectangle, in pixels of the picture, one code in each plane.
func fill(f *picture.Frame, x0, y0, x1, y1 int, code ...uint16) {
	for i, p := range f.Planes {
		kx, ky := f.Width()/p.Width, f.Height()/p.Height
		for y := y0 / ky; y < y1/ky; y++ {
			for x := x0 / kx; x < x1/kx; x++ {
				p.Row(y)[x] = code[i]
			}
		}
	}
}

// digits holds 0 to 9 and the colon, five pixels wide and seven high.
var digits = map[rune]string{
	'0': "01110 10001 10011 10101 11001 10001 01110", '1': "00100 01100 00100 00100 00100 00100 01110",
	'2': "01110 10001 00001 00010 00100 01000 11111", '3': "11111 00010 00100 00010 00001 10001 01110",
	'4': "00010 00110 01010 10010 11111 00010 00010", '7': "11111 00001 00010 00100 01000 01000 01000",
	':': "00000 00100 00000 00000 00000 00100 00000",
}

// write puts white lettering on a black box, as burnt-in timecode looks, with dots
// of so many pixels.
func write(f *picture.Frame, text string, x, y, dot int) {
	unit := uint16(1) << (f.Depth - 8)
	fill(f, x-2*dot, y-2*dot, x+(6*len(text)+1)*dot, y+9*dot, 16*unit, 128*unit, 128*unit)
	for i, c := range text {
		for row, line := range strings.Fields(digits[c]) {
			for column, on := range line {
				if on == '1' {
					cx, cy := x+(6*i+column)*dot, y+row*dot
					fill(f, cx, cy, cx+dot, cy+dot, 235*unit, 128*unit, 128*unit)
				}
			}
		}
	}
}

// combedFrame weaves the odd lines of a moved picture into the rows from y0 on.
func combedFrame(f *picture.Frame, y0, by int) *picture.Frame {
	out := retouched(f)
	for i, p := range out.Planes {
		k := f.Width() / p.Width
		for y := y0 / (f.Height() / p.Height); y < p.Height; y++ {
			if y%2 == 1 {
				copy(p.Row(y)[by/k:], f.Planes[i].Row(y))
			}
		}
	}
	return out
}

// Every fault of one eye is seen for what it is, with its sign, and by no other
// measurement than its own.
func TestFaultsOfOneEye(t *testing.T) {
	left, right := filmed(t, "street")
	camera := func(seed uint64) developing { return developing{layout: picture.YCbCr, noise: 1, seed: seed} }
	noisy := camera(2)
	noisy.noise = 5
	l, r := left.develop(camera(1)), right.develop(camera(2))
	// How much of the right eye's picture is brighter by 3 % than a ceiling at 60 %.
	above := 0.0
	for _, v := range r.Planes[0].Pix {
		if v > 64+876*63/100 {
			above += 100 / float64(len(r.Planes[0].Pix))
		}
	}
	cases := []struct {
		name, metric string
		bad          *picture.Frame
		low, high    float64
	}{
		{name: "nothing", bad: r},
		{name: "black", metric: "blank", low: 100, high: 100, bad: func() *picture.Frame {
			f := retouched(r)
			fill(f, 0, 0, f.Width(), f.Height(), 64, 512, 512)
			return f
		}()},
		{name: "grey from line 360 on", metric: "blank", low: 30, high: 34, bad: func() *picture.Frame {
			f := retouched(r)
			fill(f, 0, 360, f.Width(), f.Height(), 400, 512, 512)
			return f
		}()},
		{name: "clips at 60 %", metric: "clipping", low: above / 2, high: above, bad: func() *picture.Frame {
			f := retouched(r)
			for i, v := range f.Planes[0].Pix {
				f.Planes[0].Pix[i] = min(v, 64+876*6/10)
			}
			return f
		}()},
		{name: "noise", metric: "noise", low: 250, high: 600, bad: right.develop(noisy)},
		{name: "fields", metric: "combing", low: 0.5, high: 60, bad: combedFrame(r, 200, 6)},
		{name: "timecode", metric: "overlay", low: 0.5, high: 4, bad: func() *picture.Frame {
			f := retouched(r)
			write(f, "01:02:33:14", 300, 460, 4)
			return f
		}()},
		{name: "a reflection", metric: "rivalry", low: 0.7, high: 1.5, bad: right.within(0.2, 0.6, 0.3, 0.7, func(x, y int, light []float32) {
			for i := range light {
				light[i] = 0.9*light[i] + 0.1
			}
		}).develop(camera(2))},
	}
	// From where on each would be a finding; see the built-in limits.
	bound := map[string]float64{"blank": 1, "clipping": 0.5, "noise": 200, "combing": 0.2, "overlay": 0.3, "rivalry": 0.5}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			there := readings(t, &metrics.Pair{Left: l, Right: c.bad}, oneEye...)
			back := readings(t, &metrics.Pair{Left: c.bad, Right: l}, oneEye...)
			t.Log(describe(oneEye, there))
			for i, name := range oneEye {
				if name == c.metric {
					require.True(t, there[i].OK(), there[i].Missing)
					require.GreaterOrEqual(t, there[i].Value, c.low, name)
					require.LessOrEqual(t, there[i].Value, c.high, name)
					if name != "rivalry" && name != "noise" {
						require.Less(t, back[i].Value, -c.low/2, "%s of exchanged eyes", name)
					}
				} else if there[i].OK() {
					require.Less(t, math.Abs(there[i].Value), bound[name], name)
				}
			}
		})
	}
}

// Pairs without any fault, of varied content, noise, exposure and focus.
func TestCleanEyes(t *testing.T) {
	scenes := append([]string{"water", "posts", "smoke", "night"}, everyday...)
	if !synth.LongSweeps() {
		scenes = scenes[:3]
	}
	for _, name := range scenes {
		left, right := filmed(t, name)
		for _, c := range []struct{ left, right developing }{
			{developing{noise: 1, seed: 1}, developing{noise: 1, seed: 2}},
			{developing{}, developing{exposure: -1.5, red: 0.1, blur: 1}},
			{developing{noise: 2, seed: 1, exposure: -1}, developing{noise: 2, seed: 2}},
		} {
			c.left.layout, c.right.layout = picture.YCbCr, picture.YCbCr
			got := readings(t, &metrics.Pair{Left: left.develop(c.left), Right: right.develop(c.right)}, oneEye...)
			for i, bound := range []float64{1.5, 0.2, 90, 0.15, 0.2, 0.2} {
				if oneEye[i] == "rivalry" && name == "posts" {
					bound = 0.8 // the dense map takes some of the wall for a post
				}
				if got[i].OK() {
					require.Less(t, math.Abs(got[i].Value), bound, "%s: %s", name, describe(oneEye, got))
				}
			}
		}
	}
}
