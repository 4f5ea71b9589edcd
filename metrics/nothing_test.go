package metrics_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/stat"
	"nightpair/metrics/synth"
)

// measureAll measures everything, and requires of each value that it is a number with
// a standard error, or a reason why there is none.
func measureAll(t testing.TB, p *metrics.Pair) map[string]stat.Measurement {
	t.Helper()
	out := map[string]stat.Measurement{}
	for _, m := range metrics.All {
		if m.Measure == nil {
			continue // it takes a whole clip
		}
		got := m.Measure(p)
		if !got.OK() {
			require.NotEmpty(t, got.Missing, m.Name)
		} else {
			require.False(t, math.IsNaN(got.Value) || math.IsInf(got.Value, 0) || math.IsNaN(got.SE) || math.IsInf(got.SE, 0) || got.SE < 0, "%s: %v ± %v", m.Name, got.Value, got.SE)
			require.Empty(t, got.Missing, m.Name)
		}
		out[m.Name] = got
	}
	return out
}

// requireNothing requires that the geometry and the parallax are missing, for a reason.
func requireNothing(t testing.TB, p *metrics.Pair) {
	t.Helper()
	all := measureAll(t, p)
	for _, name := range append([]string{"near_parallax", "far_parallax"}, geometryNames...) {
		require.False(t, all[name].OK(), "%s measured %v ± %v where there is nothing to match", name, all[name].Value, all[name].SE)
	}
}

// painted makes a grey frame of 8 bits in full range.
func painted(width, height int, value func(x, y int) float64) *picture.Frame {
	p := picture.Plane{Width: width, Height: height, Stride: width, Pix: make([]uint16, width*height)}
	for y := range height {
		for x := range width {
			p.Row(y)[x] = uint16(min(max(math.Round(value(x, y)), 0), 255))
		}
	}
	return &picture.Frame{Planes: []picture.Plane{p}, Layout: picture.Grey, Depth: 8, Colour: picture.Colour{Range: picture.FullRange}}
}

func TestNothingToMatch(t *testing.T) {
	const w, h = 960, 540
	flat := func(v float64) func(x, y int) float64 { return func(int, int) float64 { return v } }
	noise := func(seed uint64, mean, deviation float64) func(x, y int) float64 {
		rng := rand.New(rand.NewPCG(seed, 0))
		return func(int, int) float64 { return mean + deviation*rng.NormFloat64() }
	}
	ramp := func(x, y int) float64 { return 40 + 150*float64(x)/w }
	bars := func(x, y int) float64 { return 60 + 100*float64(y/20%2) } // level: no place along them
	posts := func(x, y int) float64 { return 60 + 100*float64(x/20%2) }
	for name, eyes := range map[string][2]func(x, y int) float64{
		"black":                   {flat(0), flat(0)},
		"flat grey":               {flat(118), flat(118)},
		"one eye black":           {flat(0), noise(1, 118, 20)},
		"noise alone":             {noise(1, 118, 4), noise(2, 118, 4)},
		"strong noise alone":      {noise(1, 118, 40), noise(2, 118, 40)},
		"noise in the dark":       {noise(1, 2, 3), noise(2, 2, 3)},
		"a ramp":                  {ramp, ramp},
		"a ramp with noise":       {func(x, y int) float64 { return ramp(x, y) + noise(uint64(x*h+y), 0, 3)(x, y) }, func(x, y int) float64 { return ramp(x, y) + noise(uint64(x*h+y)+1<<32, 0, 3)(x, y) }},
		"level stripes":           {bars, bars},
		"upright stripes":         {posts, posts},
		"noise against a picture": {noise(1, 118, 30), ramp},
	} {
		t.Run(name, func(t *testing.T) {
			requireNothing(t, &metrics.Pair{Left: painted(w, h, eyes[0]), Right: painted(w, h, eyes[1])})
		})
	}
}

// Scenes share paints, so the other one is mirrored: then they have nothing in common.
func TestUnrelatedScenes(t *testing.T) {
	names := []string{"yard", "crowd", "bricks", "blinds"}
	if synth.LongSweeps() {
		names = names[:0]
		for _, s := range synth.Scenes {
			names = append(names, s.Name)
		}
	}
	for _, a := range names {
		for _, b := range names {
			if a == b || a+b == "smokeyard" || a+b == "yardsmoke" {
				continue // the same things, of which some are symmetric
			}
			t.Run(a+" and "+b, func(t *testing.T) {
				left, _ := drawnPair(t, a)
				_, right := drawnPair(t, b)
				requireNothing(t, &metrics.Pair{Left: left, Right: right.Oriented(picture.Flop)})
			})
		}
	}
}

func TestEyesOfDifferentSize(t *testing.T) {
	left, right := drawnPair(t, "yard")
	for name, smaller := range map[string]*picture.Frame{
		"narrower": cropped(right, 0, 0, 958, 540),
		"lower":    cropped(right, 0, 0, 960, 538),
		"a pixel":  cropped(right, 0, 0, 1, 1),
	} {
		t.Run(name, func(t *testing.T) {
			requireNothing(t, &metrics.Pair{Left: left, Right: smaller})
			requireNothing(t, &metrics.Pair{Left: smaller, Right: left})
			require.Equal(t, "the eyes' pictures differ in size", lookup(t, "roll").Measure(&metrics.Pair{Left: left, Right: smaller}).Missing)
		})
	}
}

// cropped returns a part of a frame, as a frame of its own that shares the samples.
func cropped(f *picture.Frame, x, y, width, height int) *picture.Frame {
	out := *f
	out.Planes = nil
	for _, p := range f.Planes {
		nx, ny := f.Width()/p.Width, f.Height()/p.Height // of thinned chroma
		q := picture.Plane{Width: (width + nx - 1) / nx, Height: (height + ny - 1) / ny, Stride: p.Stride}
		q.Pix = p.Pix[y/ny*p.Stride+x/nx:]
		q.Pix = q.Pix[:(q.Height-1)*q.Stride+q.Width]
		out.Planes = append(out.Planes, q)
	}
	return &out
}

// Pictures of every size: too small ones have nothing to say, odd ones measure.
func TestSizes(t *testing.T) {
	left, right := drawnPair(t, "yard")
	for _, size := range [][2]int{
		{1, 1}, {2, 1}, {1, 2}, {3, 3}, {1, 40}, {40, 1}, {7, 5}, {8, 8}, {13, 13}, {16, 9}, {17, 33}, {31, 17}, {40, 30},
	} {
		t.Run(fmt.Sprintf("%d×%d", size[0], size[1]), func(t *testing.T) {
			requireNothing(t, &metrics.Pair{
				Left:  cropped(left, 400, 300, size[0], size[1]),
				Right: cropped(right, 400, 300, size[0], size[1]),
			})
		})
	}
	for _, size := range [][2]int{{64, 48}, {101, 57}, {201, 479}, {333, 217}, {640, 3}, {3, 480}, {959, 539}, {957, 541 - 2}} {
		t.Run(fmt.Sprintf("%d×%d", size[0], size[1]), func(t *testing.T) {
			all := measureAll(t, &metrics.Pair{
				Left:  cropped(left, 0, 0, size[0], size[1]),
				Right: cropped(right, 0, 0, size[0], size[1]),
			})
			// A crop is off the rig's axis, but stays in line.
			if offset := all["vertical_worst"]; offset.OK() {
				require.Less(t, offset.Value, 3*offset.SE+0.02*540/float64(size[1]))
			} else {
				require.Less(t, size[0]*size[1], 300*300, "a picture of this size can be measured: %s", offset.Missing)
			}
		})
	}
}
