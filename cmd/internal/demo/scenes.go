package demo

import (
	"math"

	"nightpair/metrics/synth"
)

// The places of the day. What is nearer than the screen stays away from the
// sides of the picture.
var (
	yard    = place("yard", 0.055, 1.1, 4, sway)
	passage = place("corridor", 0.055, 0.9, 3.5, sway)
	night   = lit(place("night", 0.065, 1.1, 4.4, sway))
	weir    = synth.Scene{Name: "weir", Interaxial: 0.2, Focal: 1.1, Convergence: 4.6, World: weirWorld, Camera: sidle}
)

// place takes a scene of the generator with a rig and a camera of our own.
func place(name string, interaxial, focal, convergence float64, camera func(float64) synth.Pose) synth.Scene {
	s, ok := synth.Named(name)
	if !ok {
		panic("demo: no scene " + name)
	}
	s.Interaxial, s.Focal, s.Convergence, s.Camera = interaxial, focal, convergence, camera
	return s
}

// lit adds what a crew would add to a dark place.
func lit(s synth.Scene) synth.Scene {
	world := s.World
	s.World = func(t float64) synth.World {
		w := world(t)
		w.Light *= 1.7
		return w
	}
	return s
}

// sway is a camera on a slowly moving arm: to the right, up and a little
// forward within a second.
func sway(t float64) synth.Pose {
	return synth.Pose{At: synth.Vec{X: 0.3 * t, Y: -0.2 * t, Z: 0.2 * t}, Yaw: 0.8 * t, Pitch: -1.2 * t}
}

// sidle is the same without coming nearer.
func sidle(t float64) synth.Pose {
	p := sway(t)
	p.At.Z = 0
	return p
}

func weirWorld(t float64) synth.World {
	scene, _ := synth.Named("water")
	w := scene.World(t)
	stone := synth.Paint{Base: synth.RGB{R: 0.3, G: 0.28, B: 0.24}, Second: synth.RGB{R: 0.5, G: 0.47, B: 0.4}, Size: 0.2, Contrast: 0.35, Seed: 301}
	field := synth.Paint{Base: synth.RGB{R: 0.08, G: 0.16, B: 0.05}, Second: synth.RGB{R: 0.24, G: 0.26, B: 0.1}, Size: 0.8, Contrast: 0.5, Persistence: 0.9, Seed: 302}
	wall := synth.Paint{Pattern: synth.Windows, Base: synth.RGB{R: 0.4, G: 0.34, B: 0.28}, Second: synth.RGB{R: 0.1, G: 0.13, B: 0.18}, Cell: [2]float64{4, 5}, Gap: 0.45, Size: 3, Contrast: 0.3, Seed: 303}
	w.Sun, w.Ambient = synth.Vec{X: -0.5, Y: -0.8, Z: -0.6}, 0.4
	w.Things = []synth.Thing{
		{Shape: synth.Ground, At: synth.Vec{Y: 1.5, Z: 200}, Size: synth.Vec{X: 800, Z: 800}, Paint: field},
		{Shape: synth.Panel, At: synth.Vec{Y: -10, Z: 70}, Size: synth.Vec{X: 160, Y: 50}, Paint: wall},
		{Shape: synth.Block, At: synth.Vec{X: -1.6, Y: 1, Z: 8}, Size: synth.Vec{X: 1.2, Y: 1.2, Z: 1.2}, Yaw: 30, Paint: stone},
		{Shape: synth.Block, At: synth.Vec{X: 2.4, Y: 0.8, Z: 12}, Size: synth.Vec{X: 2, Y: 1.6, Z: 1.2}, Yaw: -20, Paint: stone},
		{Shape: synth.Ball, At: synth.Vec{X: 0.15 + 0.1*t, Y: 0.1 + 0.12*math.Sin(4*t), Z: 2.6}, Size: synth.Vec{X: 0.5}, Roll: 60 * t, Paint: stone},
	}
	return w
}
