package main

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/decode/encode"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// changed returns a copy of a frame whose samples were changed plane by plane.
func changed(f *picture.Frame, change func(plane int, p picture.Plane)) *picture.Frame {
	out := *f
	out.Planes = nil
	for i, p := range f.Planes {
		p.Pix = append([]uint16(nil), p.Pix...)
		change(i, p)
		out.Planes = append(out.Planes, p)
	}
	return &out
}

// rectangle calls do for the samples of a plane in a part of the picture.
func rectangle(p picture.Plane, x0, y0, x1, y1 float64, do func(x, y int, v *uint16)) {
	for y := int(y0 * float64(p.Height)); y < int(y1*float64(p.Height)); y++ {
		row := p.Row(y)
		for x := int(x0 * float64(p.Width)); x < int(x1*float64(p.Width)); x++ {
			do(x, y, &row[x])
		}
	}
}

// Faults of light and of one eye's picture, each on a clip of its own, from files to
// findings, by the limits of a rig.
func TestFindsFaultsOfLight(t *testing.T) {
	const frames, black, white = 3, 64, 940
	scene, ok := synth.Named("street")
	require.True(t, ok)
	// Nothing moves, so that nothing is told of the timing.
	world, camera := scene.World(0.5), scene.Camera(0.5)
	scene.World = func(float64) synth.World { return world }
	scene.Camera = func(float64) synth.Pose { return camera }
	shoot := func(eye synth.Eye, light synth.Light, noise float64) (all []*picture.Frame) {
		shot := synth.Shot{Scene: scene, Left: light, Right: light, Noise: noise, Seed: 7}
		for i := range frames {
			all = append(all, shot.Eye(eye, float64(i)/24))
		}
		return all
	}
	each := func(all []*picture.Frame, change func(i, plane int, p picture.Plane)) (out []*picture.Frame) {
		for n, f := range all {
			out = append(out, changed(f, func(plane int, p picture.Plane) { change(n, plane, p) }))
		}
		return out
	}
	left, right := shoot(synth.LeftEye, synth.Light{}, 1), shoot(synth.RightEye, synth.Light{}, 1)

	clips := []struct {
		name  string
		right []*picture.Frame
		want  string // the metric of the one finding
		words string
	}{
		{"clean", right, "", ""},
		{"darker", shoot(synth.RightEye, synth.Light{Exposure: -0.6}, 1), "exposure", "The right eye is darker"},
		{"redder", shoot(synth.RightEye, synth.Light{Red: 0.4}, 1), "red_balance", "The right eye is redder"},
		{"lifted", shoot(synth.RightEye, synth.Light{Lift: 3}, 1), "black_lift", "The right eye's blacks are lifted"},
		{"soft", shoot(synth.RightEye, synth.Light{Blur: 1}, 1), "softness", "The right eye is softer"},
		{"out of focus", shoot(synth.RightEye, synth.Light{Blur: 5}, 1), "softness", "The right eye is softer"},
		{"noisy", shoot(synth.RightEye, synth.Light{}, 8), "noise", "The right eye is noisier"},
		{"range", each(right, func(_, plane int, p picture.Plane) {
			for i, v := range p.Pix {
				if plane == 0 { // full-range black and white at the codes of narrow range
					p.Pix[i] = uint16(black + (white-black)*(64+float64(int(v)-black)*876/876)/1023)
				} else {
					p.Pix[i] = uint16(512 + (float64(v)-512)*896/1023)
				}
			}
		}), "black_lift", "The range flag of one eye's file is wrong"},
		{"reflection", each(right, func(n, plane int, p picture.Plane) {
			if plane == 0 {
				at := 0.3 + 0.06*float64(n)
				rectangle(p, at, 0.6, at+0.2, 0.8, func(_, _ int, v *uint16) { *v = min(uint16(float64(*v)*0.9+160), white) })
			}
		}), "rivalry", "The eyes differ in light"},
		{"vignette", each(right, func(_, plane int, p picture.Plane) {
			if plane == 0 {
				rectangle(p, 0, 0, 1, 1, func(x, y int, v *uint16) {
					off := math.Hypot(float64(2*x-p.Width), float64(2*y-p.Height)) / math.Hypot(float64(p.Width), float64(p.Height))
					dim := 1 - 0.6*max(off-0.6, 0)
					*v = black + uint16(float64(*v-min(*v, black))*dim)
				})
			}
		}), "rivalry", "Look for a vignette"},
		{"dirt", each(right, func(_, plane int, p picture.Plane) {
			if plane == 0 {
				rectangle(p, 0.15, 0.7, 0.28, 0.86, func(_, _ int, v *uint16) { *v = black + (*v-min(*v, black))*7/10 })
			}
		}), "rivalry", "Look for dirt or a drop on a lens or on the glass: it stays at the bottom left"},
		{"black", each(right, func(_, plane int, p picture.Plane) {
			code := [3]uint16{black, 512, 512}[plane]
			rectangle(p, 0, 0, 1, 1, func(_, _ int, v *uint16) { *v = code })
		}), "black_frames", "The right eye is black"},
		{"part", each(right, func(_, plane int, p picture.Plane) {
			code := [3]uint16{400, 512, 512}[plane]
			rectangle(p, 0, 2.0/3, 1, 1, func(_, _ int, v *uint16) { *v = code })
		}), "blank", "The right eye's picture is missing"},
		{"cut", each(right, func(_, plane int, p picture.Plane) {
			if plane == 0 {
				for i, v := range p.Pix {
					p.Pix[i] = min(v, black+876*58/100)
				}
			}
		}), "clipping", "The right eye clips below white"},
		{"fields", each(right, func(n, plane int, p picture.Plane) {
			for y := 1; y < p.Height; y += 2 {
				by := 8 * p.Width / 960
				copy(p.Row(y)[by:], append([]uint16(nil), p.Row(y)[:p.Width-by]...))
			}
		}), "combing", "Interlace combing in the right eye"},
		{"written", each(right, func(n, plane int, p picture.Plane) {
			// Strokes of letters: a grid of bars, white on black.
			rectangle(p, 0.3, 0.85, 0.7, 0.93, func(x, y int, v *uint16) {
				*v = [3]uint16{black, 512, 512}[plane]
				scale := 960 / p.Width
				if plane == 0 && (x*scale/4%3 == 0 || y/4%4 == 1) {
					*v = white
				}
			})
		}), "overlay", "Burnt-in graphics in the right eye"},
	}
	dir := t.TempDir()
	for _, c := range clips {
		for eye, all := range map[string][]*picture.Frame{"_L": left, "_R": c.right} {
			require.NoError(t, encode.WriteAll(filepath.Join(dir, c.name+eye+".mkv"), encode.Movie{Codec: encode.FFV1}, all...))
		}
	}
	got := nightpair(t, dir, "check", ".", "--limits", "rig", "--quiet")
	require.Contains(t, []int{0, 1}, got.code, got.errors)
	file, err := os.Open(filepath.Join(dir, "nightpair-report", "findings.csv"))
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	found := map[string][][]string{}
	for _, row := range rows[1:] {
		found[strings.TrimSuffix(filepath.Base(row[0]), "_L")] = append(found[strings.TrimSuffix(filepath.Base(row[0]), "_L")], row)
	}
	for _, c := range clips {
		t.Run(c.name, func(t *testing.T) {
			t.Log(found[c.name])
			if c.want == "" {
				require.Empty(t, found[c.name])
				return
			}
			require.Len(t, found[c.name], 1)
			require.Equal(t, c.want, found[c.name][0][2])
			require.Contains(t, strings.ToLower(found[c.name][0][11]), strings.ToLower(c.words))
		})
	}
}
