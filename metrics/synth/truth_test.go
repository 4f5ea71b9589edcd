package synth

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestInjected(t *testing.T) {
	scene, ok := Named("street")
	require.True(t, ok)
	for _, c := range []struct {
		name string
		rig  Rig
		want Injected
	}{
		{"none", Rig{}, Injected{}},
		{"shift", Rig{Picture: PictureError{Shift: 2.2}}, Injected{VerticalOffset: 2.2}},
		{"slide", Rig{Picture: PictureError{Slide: 3}}, Injected{}},
		{"roll", Rig{Picture: PictureError{Roll: 1.6}}, Injected{Roll: 1.6}},
		{"zoom", Rig{Picture: PictureError{Zoom: 3.6}}, Injected{Zoom: 3.6}},
		{"roll and zoom", Rig{Picture: PictureError{Roll: -2, Zoom: -1.5}}, Injected{Roll: -2, Zoom: -1.5}},
		// β·W/4f of the width, to first order, over the height: 0.5° of pan with
		// f = 1.1 W is 0.5°·960/(4·1.1·540); the pan moves the picture by 9.2 px,
		// which the camera's own axes make a little vertical at the edges only.
		{"pan", Rig{Camera: CameraError{Pan: 0.5}}, Injected{Keystone: 0.5 * degree / (4 * 1.1) * 100}},
		// c_y·W/H.
		{"height", Rig{Camera: CameraError{Height: 0.05}, Convergence: math.Inf(1)}, Injected{HeightStep: 0.05 * 960 / 540}},
		// −α·f at the centre; α·(H/2)²/f at the top edge.
		{"tilt", Rig{Camera: CameraError{Tilt: 0.2}}, Injected{VerticalOffset: -100 * 0.2 * degree * 1.1 * 960 / 540, TiltKeystone: -100 * 0.2 * degree * 270 * 270 / (1.1 * 960) / 540}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Shot{Scene: scene, Rig: c.rig}.Truth(0).Injected
			require.InDelta(t, c.want.VerticalOffset, got.VerticalOffset, 0.0005)
			require.InDelta(t, c.want.Roll, got.Roll, 0.0005)
			require.InDelta(t, c.want.Zoom, got.Zoom, 0.02, "second order")
			require.InDelta(t, c.want.Keystone, got.Keystone, 0.002)
			require.InDelta(t, c.want.TiltKeystone, got.TiltKeystone, 0.001)
			require.InDelta(t, c.want.HeightStep, got.HeightStep, 0.0005)
		})
	}
}

func TestParallaxFollowsDepth(t *testing.T) {
	for _, s := range Scenes {
		t.Run(s.Name, func(t *testing.T) {
			shot := Shot{Scene: s}
			truth := shot.Truth(0.5)
			f := s.Focal * 960
			seen := 0
			for _, x := range []float64{60, 303.3, 480, 777.5, 900} {
				for _, y := range []float64{40, 271.5, 350.25, 500} {
					m, ok := truth.At(x, y)
					require.True(t, ok)
					require.InDelta(t, f*s.Interaxial*(1/s.Convergence-1/m.Depth), m.DX, 1e-6)
					require.InDelta(t, 0, m.DY, 1e-9)
					if m.Seen {
						seen++
					}
				}
			}
			require.Greater(t, seen, 14)
		})
	}
}

// Exchanging the eyes exchanges the pictures, so what is seen by both must be
// led back to where it came from.
func TestMatchesLeadBack(t *testing.T) {
	for _, s := range Scenes {
		t.Run(s.Name, func(t *testing.T) {
			shot := Shot{Scene: s, Rig: Rig{Camera: CameraError{Roll: 0.5, Tilt: 0.2, Height: 0.1}, Picture: PictureError{Zoom: 1}}}
			truth := shot.Truth(0.25)
			swapped := &Truth{Width: truth.Width, Height: truth.Height, left: truth.right, right: truth.left}
			hidden := 0
			for y := 10.5; y < 540; y += 37 {
				for x := 8.25; x < 960; x += 41 {
					m, ok := truth.At(x, y)
					require.True(t, ok)
					if !m.Seen {
						hidden++
						continue
					}
					back, ok := swapped.At(x+m.DX, y+m.DY)
					require.True(t, ok)
					require.InDelta(t, -m.DX, back.DX, 1e-5)
					require.InDelta(t, -m.DY, back.DY, 1e-5)
					require.True(t, back.Seen)
				}
			}
			require.Less(t, hidden, 60, "of 360 places")
		})
	}
}
