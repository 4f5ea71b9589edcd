package synth

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// empty is a world without anything, for arithmetic on the cameras alone.
func empty(float64) World { return World{} }

// The wanted figures are the projection of one point worked by hand with
// matrices, f = 2000 px, b = 65 mm, the point at (800, 400) px and 5 m: the
// first error to move y by −f·α, and so on through the linearised epipolar
// constraint for a near-parallel rig (after Zilly, Müller, Eisert and Kauff,
// 3DPVT 2010).
func TestCameraErrorMovesPicture(t *testing.T) {
	for _, c := range []struct {
		name  string
		error CameraError
		want  float64 // exact Δy, px
	}{
		{"none", CameraError{}, 0},
		{"tilt", CameraError{Tilt: 0.1}, -3.6290},
		{"pan", CameraError{Pan: -0.5}, -1.3312},
		{"roll", CameraError{Roll: 0.3}, 4.0472},
		{"focal", CameraError{Focal: 0.005}, 2.0000},
		{"height", CameraError{Height: 0.02}, -0.5200},
		{"forward", CameraError{Forward: 0.03}, 0.1561},
	} {
		t.Run(c.name, func(t *testing.T) {
			shot := Shot{
				Scene: Scene{World: empty},
				Width: 1920, Height: 1080,
				Rig: Rig{Interaxial: 0.065, Focal: 2000.0 / 1920, Convergence: math.Inf(1), Camera: c.error},
			}
			point := Vec{800.0 / 2000 * 5, 400.0 / 2000 * 5, 5}
			lx, ly, ok := shot.Project(LeftEye, point, 0)
			require.True(t, ok)
			require.InDelta(t, 800, lx, 1e-9)
			require.InDelta(t, 400, ly, 1e-9)
			rx, ry, ok := shot.Project(RightEye, point, 0)
			require.True(t, ok)
			require.InDelta(t, c.want, ry-ly, 0.00006)
			if c.name == "none" {
				require.InDelta(t, 26, lx-rx, 1e-9)
			}
		})
	}
}

// Equations of Woods, Docherty and Koch, Proc. SPIE 1915 (1993), for two
// cameras toed in by atan(t/2C), at their example of f = 3.5 mm, C = 1 m,
// t = 75 mm and a sensor of 6.4 × 4.8 mm; Y points down here.
func TestToeInKeystone(t *testing.T) {
	const f, sensor, c, base, screen = 3.5, 6.4, 1.0, 0.075, 300.0
	shot := Shot{
		Scene: Scene{World: empty},
		Width: 640, Height: 480,
		Rig: Rig{Interaxial: base, Focal: f / sensor, Convergence: c, ToeIn: true},
	}
	x, y := 0.914286, 0.685714
	// Ours has the left camera at the origin, theirs the middle of the rig.
	point := Vec{x + base/2, y, c}
	lx, ly, ok := shot.Project(LeftEye, point, 0)
	require.True(t, ok)
	rx, ry, ok := shot.Project(RightEye, point, 0)
	require.True(t, ok)
	mm := screen / 640
	require.InDelta(t, 144.831, lx*mm, 0.001)
	require.InDelta(t, 155.100, rx*mm, 0.001)
	require.InDelta(t, 108.699, ly*mm, 0.001)
	require.InDelta(t, 116.406, ry*mm, 0.001)
}

func TestConvergenceHasNoParallax(t *testing.T) {
	for _, toeIn := range []bool{false, true} {
		shot := Shot{Scene: Scene{World: empty}, Rig: Rig{Interaxial: 0.065, Focal: 1.1, Convergence: 4, ToeIn: toeIn}}
		point := Vec{0.0325, 0, 4} // straight before the middle of the rig
		lx, ly, _ := shot.Project(LeftEye, point, 0)
		rx, ry, _ := shot.Project(RightEye, point, 0)
		if toeIn {
			require.InDelta(t, 0, lx, 1e-9)
		}
		require.InDelta(t, lx, rx, 1e-9)
		require.InDelta(t, ly, ry, 1e-9)
	}
}

func TestRayUndoesProject(t *testing.T) {
	scene, _ := Named("street")
	rig := Rig{
		Camera:  CameraError{Tilt: 0.4, Pan: -0.3, Roll: 1.2, Focal: 0.02, Height: 0.1, Forward: -0.2},
		Picture: PictureError{Shift: 2, Slide: -1, Roll: -0.7, Zoom: 3},
	}.withDefaults(scene)
	for _, toeIn := range []bool{false, true} {
		rig.ToeIn = toeIn
		cam := rig.right(Pose{At: Vec{1, 2, 3}, Yaw: 20, Pitch: -5}, 960, 540)
		for _, p := range [][2]float64{{0, 0}, {400, 200}, {-479.5, 269.5}} {
			ray := cam.ray(p[0], p[1])
			require.InDelta(t, 1, cam.turn[2].dot(ray), 1e-12, "a ray is as long as its depth")
			x, y, ok := cam.project(cam.centre.along(ray, 7))
			require.True(t, ok)
			require.InDelta(t, p[0], x, 1e-9)
			require.InDelta(t, p[1], y, 1e-9)
		}
	}
}
