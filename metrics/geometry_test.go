package metrics_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/geometry"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
)

// geometryNames lists the metrics that are read off the fitted geometry.
var geometryNames = []string{
	"vertical_offset", "roll", "zoom", "keystone", "tilt_keystone", "height_step", "height_spread",
	"vertical_worst", "vertical_rest",
}

var drawnPairs sync.Map

// drawnPair draws both eyes of a scene without any fault but noise, once for all
// tests.
func drawnPair(t testing.TB, name string) (left, right *picture.Frame) {
	t.Helper()
	s := scene(t, name)
	draw, _ := drawnPairs.LoadOrStore(name, sync.OnceValue(func() [2]*picture.Frame {
		left, right, _ := synth.Shot{Scene: s, Noise: 1.5, Seed: 1}.Render(0.3)
		return [2]*picture.Frame{left, right}
	}))
	pair := draw.(func() [2]*picture.Frame)()
	return pair[0], pair[1]
}

// blank is a frame of which only the size matters.
func blank(width, height int) *picture.Frame {
	return &picture.Frame{Planes: []picture.Plane{{Width: width, Height: height, Stride: width, Pix: make([]uint16, width*height)}}, Depth: 8}
}

// parallelRig is a nearly parallel rig: the right camera's centre is at b·(1, low,
// forward) in the left one's axes; it is panned, then tilted, then rolled, in
// degrees, and its focal length is longer by a share.
type parallelRig struct{ tilt, pan, roll, focal, low, forward float64 }

const (
	rigFocal = 2000.0 // pixels
	rigBase  = 0.065  // metres
	rigWide  = 1920
	rigHigh  = 1080
)

// project returns the pixel, from the picture centre, at which the right camera
// shows what the left one shows at (x, y), z metres away.
func (r parallelRig) project(x, y, z float64) (xr, yr float64) {
	X, Y, Z := x*z/rigFocal-rigBase, y*z/rigFocal-rigBase*r.low, z-rigBase*r.forward
	sin, cos := math.Sincos(r.pan * math.Pi / 180)
	X, Z = cos*X+sin*Z, cos*Z-sin*X
	sin, cos = math.Sincos(r.tilt * math.Pi / 180)
	Y, Z = cos*Y-sin*Z, sin*Y+cos*Z
	sin, cos = math.Sincos(r.roll * math.Pi / 180)
	X, Y = cos*X-sin*Y, sin*X+cos*Y
	f := rigFocal * (1 + r.focal)
	return f * X / Z, f * Y / Z
}

func (r parallelRig) match(x, y, z float64) geometry.Match {
	xr, yr := r.project(x, y, z)
	return geometry.Match{
		LeftX: x / rigHigh, LeftY: y / rigHigh, RightX: xr / rigHigh, RightY: yr / rigHigh,
		VerticalSE: 0.01 / rigHigh, Correlation: 1, Unambiguous: true,
	}
}

// pair returns matches of 800 places 2 to 12 m away, all over the picture, on a
// surface with hills and valleys.
func (r parallelRig) pair() *metrics.Pair {
	rng := rand.New(rand.NewPCG(1, 1))
	matches := make([]geometry.Match, 800)
	for i := range matches {
		x, y := (rng.Float64()-0.5)*rigWide, (rng.Float64()-0.5)*rigHigh
		matches[i] = r.match(x, y, 7+5*math.Sin(x/150)*math.Cos(y/130+1))
	}
	return metrics.PairOf(blank(rigWide, rigHigh), blank(rigWide, rigHigh), matches)
}

// Each error of a rig alone, and all at once, in correspondences without error.
// The vertical disparity of the place at (800, 400) pixels and 5 m was worked out
// from the exact projection by another program, to four decimals.
func TestGeometryOfExactCorrespondences(t *testing.T) {
	tests := map[string]struct {
		rig  parallelRig
		dy   float64            // pixels, of the place
		want map[string]float64 // what is not named is nothing
	}{
		"in line": {},
		"tilt": {parallelRig{tilt: 0.1}, -3.6290, map[string]float64{
			"vertical_offset": -100 * rigFocal / rigHigh * math.Tan(0.1*math.Pi/180),
			"tilt_keystone":   -100 * rigHigh / 4 / rigFocal * 0.1 * math.Pi / 180,
		}},
		"pan": {parallelRig{pan: -0.5}, -1.3312, map[string]float64{
			"keystone": -100 * rigWide / 4 / rigFocal * 0.5 * math.Pi / 180,
			"zoom":     100 * (math.Cos(0.5*math.Pi/180) - 1), // of second order
		}},
		"roll":    {parallelRig{roll: 0.3}, 4.0472, map[string]float64{"roll": 0.3}},
		"zoom":    {parallelRig{focal: 0.005}, 2.0000, map[string]float64{"zoom": 0.5}},
		"height":  {parallelRig{low: 0.02}, -0.5200, map[string]float64{"height_step": 0.02 * rigWide / rigHigh}},
		"forward": {parallelRig{forward: 0.03}, 0.1561, nil},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			_, yr := test.rig.project(800, 400, 5)
			require.InDelta(t, test.dy, yr-400, 0.00005)
			p := test.rig.pair()
			for _, name := range geometryNames {
				if name == "vertical_worst" || name == "height_spread" {
					continue
				}
				m := lookup(t, name).Measure(p)
				require.True(t, m.OK(), m.Missing)
				want := test.want[name]
				switch own := p.OwnParallax(); name {
				case "vertical_offset":
					want += 100 * test.rig.low * own
				case "zoom":
					want -= 100 * test.rig.forward * own * rigHigh / rigFocal
				}
				require.InDelta(t, want, m.Value, 0.0005, name)
			}
			require.InDelta(t, 0, p.Residual(test.rig.match(800, 400, 5))*rigHigh, 0.001)
		})
	}

	t.Run("all at once", func(t *testing.T) {
		rig := parallelRig{tilt: 0.1, pan: -0.5, roll: 0.3, focal: 0.005, low: 0.02, forward: 0.03}
		p := rig.pair()
		// The pan moves the picture, and with it what has no parallax: it would lie
		// beyond infinity, at this disparity x − x'.
		d := -rigFocal * math.Tan(0.5*math.Pi/180)
		d -= p.OwnParallax() * rigHigh
		// Of first order, least squares of the bare model leave 10 % of the tilt and 4 %
		// of the rest; with the similarity folded in, 1 % is plenty.
		for name, want := range map[string]float64{
			"roll": 0.3, "zoom": 0.5 + 100*0.03*d/rigFocal, "height_step": 0.02 * rigWide / rigHigh,
			"keystone":        tests["pan"].want["keystone"],
			"tilt_keystone":   tests["tilt"].want["tilt_keystone"],
			"vertical_offset": tests["tilt"].want["vertical_offset"] - 100*0.02*d/rigHigh,
		} {
			m := lookup(t, name).Measure(p)
			t.Logf("%s %.6f ± %.6f, wanted %.6f", name, m.Value, m.SE, want)
			require.InEpsilon(t, want, m.Value, 0.01, name)
		}
		rest := lookup(t, "vertical_rest").Measure(p)
		// The bare linear model leaves 0.016 px.
		require.Less(t, rest.Value/100*rigHigh, 0.005)
	})
}

// The places of drawn scenes, without drawing them.
func TestGeometryOfExactScenes(t *testing.T) {
	for _, name := range []string{"street", "portrait", "night"} {
		s := scene(t, name)
		for _, rig := range []synth.Rig{
			{},
			{Camera: synth.CameraError{Height: 0.06}},
			{Camera: synth.CameraError{Pan: 0.3}},
			{Camera: synth.CameraError{Tilt: -0.3}},
			{Camera: synth.CameraError{Roll: 0.7}},
			{Camera: synth.CameraError{Focal: 0.02}},
			{Picture: synth.PictureError{Shift: -8, Roll: 5, Zoom: 8}},
			{ToeIn: true},
		} {
			t.Run(fmt.Sprintf("%s %+v", name, rig), func(t *testing.T) {
				truth := synth.Shot{Scene: s, Rig: rig}.Truth(0.6)
				w, h := float64(truth.Width), float64(truth.Height)
				var matches []geometry.Match
				for y := 12.0; y < h-12; y += 20 {
					for x := 12.0; x < w-12; x += 20 {
						m, ok := truth.At(x, y)
						if !ok || !m.Seen {
							continue
						}
						lx, ly := (x-(w-1)/2)/h, (y-(h-1)/2)/h
						matches = append(matches, geometry.Match{LeftX: lx, LeftY: ly, RightX: lx + m.DX/h, RightY: ly + m.DY/h, VerticalSE: 0.01 / h, Correlation: 1, Unambiguous: true})
					}
				}
				p := metrics.PairOf(blank(truth.Width, truth.Height), blank(truth.Width, truth.Height), matches)
				in := truth.InjectedAt(100 * p.OwnParallax() * h / w)
				for name, want := range map[string]float64{
					"vertical_offset": in.VerticalOffset, "roll": in.Roll, "zoom": in.Zoom,
					"keystone": in.Keystone, "tilt_keystone": in.TiltKeystone, "height_step": in.HeightStep,
					"vertical_rest": 0, "height_spread": in.HeightStep * halfDepth(matches) * 100 * h / w,
				} {
					m := lookup(t, name).Measure(p)
					require.True(t, m.OK(), m.Missing)
					require.InDelta(t, want, m.Value, 0.0005, name)
				}
			})
		}
	}
}

// halfDepth returns half of the way from the 1st to the 99th percentile of the parallax, in
// picture heights.
func halfDepth(matches []geometry.Match) float64 {
	var parallax []float64
	for _, m := range matches {
		parallax = append(parallax, m.RightX-m.LeftX)
	}
	slices.Sort(parallax)
	n := float64(len(parallax) - 1)
	return (parallax[int(math.Round(0.99*n))] - parallax[int(math.Round(0.01*n))]) / 2
}

// recoded returns the frame with every luma value changed. The signal is 0 for black
// and 1 for white; what leaves that range is clipped.
func recoded(f *picture.Frame, change func(signal float64) float64) *picture.Frame {
	out := *f
	out.Planes = append([]picture.Plane(nil), f.Planes...)
	p := out.Planes[0]
	unit := float64(int(1) << (f.Depth - 8))
	table := make([]uint16, 1<<f.Depth)
	for i := range table {
		v := change((float64(i)/unit - 16) / 219)
		table[i] = uint16(math.Round((16 + 219*min(max(v, 0), 1)) * unit))
	}
	pix := make([]uint16, len(p.Pix))
	for i, v := range p.Pix {
		pix[i] = table[v]
	}
	out.Planes[0].Pix = pix
	return &out
}

func TestGeometryDoesNotFollowLight(t *testing.T) {
	stops := func(e float64) func(float64) float64 {
		return func(s float64) float64 { return s * math.Pow(2, e/2.4) } // BT.1886
	}
	changes := map[string]func(float64) float64{
		"1.5 stops brighter": stops(1.5),
		"1.5 stops darker":   stops(-1.5),
		"gain 0.8":           func(s float64) float64 { return 0.8 * s },
		"lifted by 10 %":     func(s float64) float64 { return 0.9*s + 0.1 },
		"gamma 0.7":          func(s float64) float64 { return math.Pow(max(s, 0), 0.7) },
		"gamma 1.4":          func(s float64) float64 { return math.Pow(max(s, 0), 1.4) },
	}
	for _, shown := range []string{"yard", "crowd"} {
		left, right := drawnPair(t, shown)
		before := map[string]stat.Measurement{}
		p := &metrics.Pair{Left: left, Right: right}
		for _, name := range geometryNames {
			before[name] = lookup(t, name).Measure(p)
			require.True(t, before[name].OK(), before[name].Missing)
		}
		for change, f := range changes {
			t.Run(shown+", "+change, func(t *testing.T) {
				p := &metrics.Pair{Left: left, Right: recoded(right, f)}
				for _, name := range geometryNames {
					after := lookup(t, name).Measure(p)
					require.True(t, after.OK(), after.Missing)
					require.InDelta(t, before[name].Value, after.Value, 2*math.Hypot(before[name].SE, after.SE), name)
				}
			})
		}
	}
}

// Exchanging the eyes does to each value what its Swap says, within three standard errors
// of the two: of thirty values, two would lose one. To first order, that is: with the eyes
// of a roll exchanged, the line between the cameras is tilted in the new left eye's
// picture, and that is a height step; and a shift is measured in a picture that a zoom has
// made larger. So they are small here.
func TestExchangedEyes(t *testing.T) {
	scenes := []string{"crowd"}
	if synth.LongSweeps() {
		scenes = []string{"crowd", "yard", "street", "stairs", "corridor", "posts", "foliage"}
	}
	tests := map[string]synth.Shot{
		"picture": {
			Rig:   synth.Rig{Picture: synth.PictureError{Shift: 0.2, Roll: 0.05, Zoom: 0.5}},
			Right: synth.Light{Exposure: 0.4, Red: 0.1, Blue: -0.1, Lift: 1},
		},
		"camera": {Rig: synth.Rig{Camera: synth.CameraError{Pan: 0.3, Tilt: 0.2, Height: 0.04}}},
	}
	for i, name := range slices.Repeat(scenes, len(tests)) {
		kind := []string{"picture", "camera"}[i/len(scenes)]
		shot := tests[kind]
		shot.Scene = scene(t, name)
		shot.Noise, shot.Seed = 1.5, 1
		left, right, _ := shot.Render(0.3)
		named, exchanged := &metrics.Pair{Left: left, Right: right}, &metrics.Pair{Left: right, Right: left}
		for _, m := range metrics.All {
			if m.Measure == nil {
				continue // it takes a whole clip
			}
			t.Run(fmt.Sprintf("%s, %s, %s", name, kind, m.Name), func(t *testing.T) {
				a := m.Measure(named)
				other := m
				if m.Swap == metrics.SwapPartner {
					other = lookup(t, m.Partner)
				}
				b := other.Measure(exchanged)
				if m.Name == "edge_violation" {
					// Other things stand before the screen then, as its Doc says.
					require.Contains(t, m.Doc, "exchanged cannot be derived")
					return
				}
				if m.Conditional && (!a.OK() || !b.OK()) {
					require.NotEmpty(t, a.Missing+b.Missing)
					return
				}
				require.True(t, a.OK() && b.OK(), "%s %s", a.Missing, b.Missing)
				if strings.HasPrefix(m.Name, "focus_") {
					// Other places stand for what is near and far then, of other texture.
					require.Contains(t, lookup(t, "focus_left").Doc, "texture of the scene adds a constant")
					return
				}
				want := b.Value
				switch m.Swap {
				case metrics.SwapNegate, metrics.SwapPartner:
					want = -b.Value
				case metrics.SwapInvert:
					want = 100 * (1/(1+b.Value/100) - 1)
				}
				t.Logf("%.5f ± %.5f, exchanged %.5f ± %.5f", a.Value, a.SE, b.Value, b.SE)
				require.InDelta(t, want, a.Value, 3*math.Hypot(a.SE, b.SE))
			})
		}
	}
}

func TestIdenticalEyes(t *testing.T) {
	left, _ := drawnPair(t, "yard")
	p := &metrics.Pair{Left: left, Right: left}
	for _, m := range metrics.All {
		if m.Measure == nil {
			continue
		}
		t.Run(m.Name, func(t *testing.T) {
			got := m.Measure(p)
			if m.Conditional && !got.OK() {
				require.NotEmpty(t, got.Missing)
				return
			}
			require.True(t, got.OK(), got.Missing)
			t.Logf("%.6f ± %.6f", got.Value, got.SE)
			ideal := m.Ideal
			if math.IsNaN(ideal) {
				ideal = 0 // parallax
			}
			if slices.Contains(geometryNames, m.Name) {
				require.InDelta(t, ideal, got.Value, 1e-4)
				return
			}
			// What rests on the dense map has the map's own noise: a few hundredths of the
			// smallest limit that anybody would set (the project's own choice).
			within, ok := map[string]float64{"near_parallax": 0.05, "far_parallax": 0.05, "colour_difference": 0.1}[m.Name]
			if !ok {
				within = got.SE
			}
			require.InDelta(t, ideal, got.Value, within)
		})
	}
}
