package synth

import "math"

// Scenes lists the scenes. Each keeps its parallax within about ±1.5 % of the
// picture width with its own rig.
var Scenes = []Scene{
	{
		Name: "street", Doc: "blocks on both sides of a street and a passing van: depth from near to far, rich texture",
		Interaxial: 0.065, Focal: 1.1, Convergence: 5.5, World: street, Camera: drift(0.25, 0.1, 1.5),
	},
	{
		Name: "bricks", Doc: "a brick wall and a lamp post before it: texture that repeats",
		Interaxial: 0.065, Focal: 1.1, Convergence: 6, World: bricks, Camera: drift(0.2, 0.05, 0),
	},
	{
		Name: "blinds", Doc: "slatted blinds and rows of windows: level stripes that show no shift along them",
		Interaxial: 0.065, Focal: 1.1, Convergence: 6, World: blinds, Camera: drift(0.15, 0.1, 0),
	},
	{
		Name: "foliage", Doc: "hundreds of leaves before a hedge: depth that changes from pixel to pixel",
		Interaxial: 0.05, Focal: 1.2, Convergence: 4.5, World: foliage,
	},
	{
		Name: "night", Doc: "dark walls with few lamps: almost nothing to match",
		Interaxial: 0.065, Focal: 1.1, Convergence: 6, World: night, Camera: drift(0.1, 0.05, 0.5),
	},
	{
		Name: "smoke", Doc: "drifting smoke before a yard: what is seen through it is faint, the smoke itself has no place",
		Interaxial: 0.065, Focal: 1.1, Convergence: 5, World: smoke,
	},
	{
		Name: "water", Doc: "a lake with moving glints that belong to one eye only",
		Interaxial: 0.065, Focal: 1.1, Convergence: 6, World: water,
	},
	{
		Name: "portrait", Doc: "a large near head before a far wall: two depths and wide hidden strips",
		Interaxial: 0.043, Focal: 1.6, Convergence: 2.6, World: portrait,
	},
	{
		Name: "corridor", Doc: "walls, floor and ceiling that run into the distance: depth without steps",
		Interaxial: 0.055, Focal: 0.9, Convergence: 4, World: corridor, Camera: drift(0.05, 0.05, 0.6),
	},
	{
		Name: "target", Doc: "a flat test target square to the rig at 1.5 m, where the cameras converge: one depth, no parallax",
		Interaxial: 0.065, Focal: 1.2, Convergence: 1.5, World: target,
	},
	{
		Name: "landscape", Doc: "hills from 150 m on: all at one parallax, nothing that separates camera height from tilt",
		Interaxial: 0.065, Focal: 1.3, Convergence: 8, World: landscape, Camera: drift(0.5, 0, 0),
	},
	{
		Name: "ground", Doc: "nothing but the ground and the sky: depth that follows the picture's height",
		Interaxial: 0.065, Focal: 1.1, Convergence: 5, World: ground, Camera: drift(0.3, 0.02, 0.8),
	},
	{
		Name: "posts", Doc: "thin posts at many depths before a wall",
		Interaxial: 0.065, Focal: 1.1, Convergence: 5, World: posts, Camera: drift(0.25, 0.1, 0),
	},
	{
		Name: "crowd", Doc: "balls that bob up and down at many depths: vertical motion for the sync",
		Interaxial: 0.06, Focal: 1.1, Convergence: 5, World: crowd,
	},
	{
		Name: "stairs", Doc: "steps that lead away and up",
		Interaxial: 0.065, Focal: 1.1, Convergence: 5, World: stairs, Camera: drift(0.1, 0.15, 0.2),
	},
	{
		Name: "yard", Doc: "a sunny yard with turning crates and a rolling ball: everyday",
		Interaxial: 0.06, Focal: 1.1, Convergence: 5, World: yard, Camera: drift(0.2, 0.12, 0.3),
	},
}

// drift returns a camera that sways sideways and up and down by so many metres
// over some seconds, and moves forward at so many metres a second.
func drift(sideways, upwards, forward float64) func(t float64) Pose {
	return func(t float64) Pose {
		return Pose{
			At:    Vec{sideways * math.Sin(0.9*t), upwards * math.Sin(1.7*t), forward * t},
			Yaw:   0.6 * math.Sin(0.7*t),
			Pitch: 0.4 * math.Sin(1.1*t),
		}
	}
}

var (
	sunny    = Vec{-0.5, -0.8, -0.6}
	blueSky  = Paint{Base: RGB{0.35, 0.5, 0.8}, Second: RGB{0.75, 0.78, 0.8}, Size: 0.35, Contrast: 0.12, Seed: 7}
	asphalt  = Paint{Base: RGB{0.10, 0.10, 0.11}, Second: RGB{0.22, 0.21, 0.20}, Size: 1, Contrast: 0.45, Persistence: 0.9, Seed: 11}
	grass    = Paint{Base: RGB{0.06, 0.16, 0.04}, Second: RGB{0.25, 0.28, 0.08}, Size: 1.2, Contrast: 0.5, Persistence: 0.9, Seed: 12}
	plaster  = Paint{Base: RGB{0.35, 0.30, 0.24}, Second: RGB{0.5, 0.46, 0.40}, Size: 1, Contrast: 0.3, Seed: 13}
	timber   = Paint{Base: RGB{0.20, 0.11, 0.05}, Second: RGB{0.42, 0.26, 0.13}, Size: 0.3, Contrast: 0.4, Seed: 14}
	paintRed = Paint{Base: RGB{0.45, 0.06, 0.05}, Second: RGB{0.6, 0.16, 0.1}, Size: 0.4, Contrast: 0.35, Seed: 15}
	brick    = Paint{Pattern: Bricks, Base: RGB{0.30, 0.11, 0.07}, Second: RGB{0.45, 0.42, 0.38}, Size: 0.3, Contrast: 0.18, Seed: 16}
	house    = Paint{Pattern: Windows, Base: RGB{0.42, 0.36, 0.28}, Second: RGB{0.10, 0.14, 0.2}, Cell: [2]float64{1.6, 2.2}, Gap: 0.45, Size: 0.8, Contrast: 0.25, Seed: 17}
)

// seeded returns the paint with another grain.
func (p Paint) seeded(seed uint32) Paint {
	p.Seed ^= seed * 0x9e3779b9
	return p
}

// pick returns a number from low to high that depends on i and seed alone.
func pick(low, high float64, i int, seed uint32) float64 {
	return low + (high-low)*(scatter(uint32(i)*0x9e3779b1+seed)+1)/2
}

func level(y float64, p Paint) Thing {
	return Thing{Shape: Ground, At: Vec{0, y, 200}, Size: Vec{800, 0, 800}, Paint: p}
}

func day(things ...Thing) World {
	return World{Things: things, Sky: blueSky, Sun: sunny, Ambient: 0.4}
}

func street(t float64) World {
	w := day(level(1.6, asphalt))
	for i := range 5 {
		z := 9 + 9*float64(i)
		high := pick(7, 12, i, 1)
		w.Things = append(w.Things,
			Thing{Shape: Block, At: Vec{-8.5, 1.6 - high/2, z + 3}, Size: Vec{7, high, 8}, Paint: house.seeded(uint32(i))},
			Thing{Shape: Block, At: Vec{8.5, 1.6 - high/2, z + 2}, Size: Vec{6.5, high, 7.5}, Paint: brick.seeded(uint32(i))},
		)
	}
	w.Things = append(w.Things,
		Thing{Shape: Panel, At: Vec{0, -6, 75}, Size: Vec{60, 20, 0}, Paint: house.seeded(99)},
		Thing{Shape: Block, At: Vec{-3.5 + 1.2*t, 0.5, 14}, Size: Vec{3.6, 2, 1.6}, Paint: paintRed},
		Thing{Shape: Block, At: Vec{-1.9, 1.25, 4.6}, Size: Vec{0.7, 0.7, 0.7}, Yaw: 25, Paint: timber},
		Thing{Shape: Post, At: Vec{1.7, -0.4, 5}, Size: Vec{0.12, 4, 0}, Paint: plaster.seeded(3)},
		Thing{Shape: Ball, At: Vec{0.9 + 0.3*math.Sin(2*t), 1.3, 6.5}, Size: Vec{0.6, 0, 0}, Paint: paintRed.seeded(4)},
	)
	return w
}

func bricks(t float64) World {
	return day(
		level(1.5, asphalt),
		Thing{Shape: Panel, At: Vec{0, -1.5, 9}, Size: Vec{30, 6, 0}, Yaw: 12, Paint: brick},
		Thing{Shape: Post, At: Vec{-1.2, -0.5, 4}, Size: Vec{0.14, 4, 0}, Paint: timber},
		Thing{Shape: Block, At: Vec{1.6, 1.1, 4.6}, Size: Vec{0.9, 0.8, 0.7}, Yaw: -20, Paint: brick.seeded(2)},
		Thing{Shape: Ball, At: Vec{0.4 + 0.5*math.Sin(t), 1.2, 5}, Size: Vec{0.6, 0, 0}, Paint: paintRed},
	)
}

func blinds(t float64) World {
	slats := Paint{Pattern: Stripes, Base: RGB{0.55, 0.52, 0.45}, Second: RGB{0.05, 0.05, 0.06}, Cell: [2]float64{0.09, 0}, Gap: 0.3, Size: 0.5, Contrast: 0.12, Seed: 21}
	w := day(
		level(1.5, timber),
		Thing{Shape: Panel, At: Vec{0, -2, 11}, Size: Vec{40, 9, 0}, Paint: house},
		Thing{Shape: Ball, At: Vec{0.3, 0.9 + 0.15*math.Sin(3*t), 4.6}, Size: Vec{0.5, 0, 0}, Paint: plaster},
	)
	for i := range 3 {
		x := -3 + 3*float64(i)
		w.Things = append(w.Things, Thing{Shape: Panel, At: Vec{x, -0.3, 6.5}, Size: Vec{1.8, 2.4, 0}, Yaw: 10 * float64(i-1), Paint: slats.seeded(uint32(i))})
	}
	return w
}

func foliage(t float64) World {
	leaf := Paint{Base: RGB{0.05, 0.17, 0.03}, Second: RGB{0.32, 0.38, 0.1}, Size: 0.08, Contrast: 0.4}
	hedge := Paint{Base: RGB{0.02, 0.07, 0.02}, Second: RGB{0.2, 0.26, 0.08}, Size: 0.5, Contrast: 0.8, Persistence: 0.95, Seed: 31}
	w := day(
		level(1.4, grass),
		Thing{Shape: Panel, At: Vec{0, -2, 12}, Size: Vec{40, 8, 0}, Paint: hedge},
		Thing{Shape: Post, At: Vec{1.6, 0, 4.5}, Size: Vec{0.3, 6, 0}, Paint: timber},
	)
	for i := range 260 {
		sway := 0.03 * math.Sin(2*t+0.7*float64(i))
		z := pick(3, 9, i, 2)
		w.Things = append(w.Things, Thing{
			Shape: Disc,
			At:    Vec{pick(-0.42, 0.42, i, 3)*z + sway, pick(-0.3, 0.16, i, 4)*z + 0.5*sway, z},
			Size:  Vec{pick(0.12, 0.35, i, 5), pick(0.08, 0.2, i, 6), 0},
			Yaw:   pick(-55, 55, i, 7), Pitch: pick(-50, 50, i, 8), Roll: pick(-90, 90, i, 9),
			Paint: leaf.seeded(uint32(i)),
		})
	}
	return w
}

func night(t float64) World {
	dark := func(p Paint) Paint { p.Contrast *= 0.6; return p }
	w := World{
		Things: []Thing{
			level(1.5, dark(asphalt)),
			{Shape: Panel, At: Vec{0, -2, 16}, Size: Vec{50, 7, 0}, Paint: dark(house)},
			{Shape: Block, At: Vec{-2.6, 0.2, 6}, Size: Vec{1.4, 2.6, 1.2}, Yaw: 20, Paint: dark(timber)},
			{Shape: Block, At: Vec{2.4 - 0.3*t, 0.7, 8}, Size: Vec{2.2, 1.6, 1.2}, Paint: dark(paintRed)},
			{Shape: Ball, At: Vec{0.2, 1.1, 4.8}, Size: Vec{0.7, 0, 0}, Paint: dark(plaster)},
		},
		Sky:     Paint{Base: RGB{0.25, 0.28, 0.4}, Second: RGB{0.3, 0.3, 0.36}, Size: 0.5, Contrast: 0.1, Seed: 41},
		Sun:     Vec{0.6, -0.6, -0.5},
		Ambient: 0.5,
		Light:   0.06,
	}
	lamp := Paint{Base: RGB{0.9, 0.7, 0.4}, Second: RGB{0.95, 0.8, 0.5}, Glow: 0.8, Contrast: 0.15, Size: 0.1}
	for i := range 9 {
		w.Things = append(w.Things, Thing{
			Shape: Ball,
			At:    Vec{pick(-5, 5, i, 11), pick(-2.6, 0.6, i, 12), pick(6, 14, i, 13)},
			Size:  Vec{pick(0.08, 0.25, i, 14), 0, 0},
			Paint: lamp.seeded(uint32(i)),
		})
	}
	return w
}

func smoke(t float64) World {
	w := yard(t)
	for i := range 4 {
		w.Veils = append(w.Veils, Thing{
			At:    Vec{0, 0, 9 - 1.5*float64(i)},
			Size:  Vec{30, 20, 0},
			Paint: Paint{Base: RGB{0.4, 0.4, 0.42}, Size: 1.6, Persistence: 0.6, Cover: 0.3, Phase: (0.3 + 0.1*float64(i)) * t, Seed: uint32(50 + i)},
		})
	}
	w.Haze, w.HazeColour = 0.01, RGB{0.4, 0.41, 0.43}
	return w
}

func water(t float64) World {
	waves := Paint{Pattern: Waves, Base: RGB{0.02, 0.06, 0.07}, Size: 0.9, Contrast: 0.07, Persistence: 0.7, Phase: 0.5 * t, Gloss: 1.5, Seed: 61}
	w := day(
		level(1.5, waves),
		Thing{Shape: Panel, At: Vec{0, -3, 60}, Size: Vec{160, 12, 0}, Paint: grass.coarser(6)},
		Thing{Shape: Block, At: Vec{-1.6, 0.9, 5.5}, Size: Vec{0.9, 1.3, 0.9}, Yaw: 30, Paint: timber},
		Thing{Shape: Post, At: Vec{1.5, 0.4, 4.4}, Size: Vec{0.2, 2.4, 0}, Paint: timber.seeded(1)},
		Thing{Shape: Block, At: Vec{2 - 0.4*t, 1, 11}, Size: Vec{3, 1, 1.2}, Paint: paintRed},
	)
	w.Sun = Vec{0.15, -0.45, 0.9}
	w.Ambient = 0.6
	return w
}

// coarser returns the paint with its grain enlarged.
func (p Paint) coarser(k float64) Paint {
	p.Size *= k
	return p
}

func portrait(t float64) World {
	skin := Paint{Base: RGB{0.45, 0.27, 0.18}, Second: RGB{0.58, 0.38, 0.28}, Size: 0.06, Contrast: 0.12, Gloss: 0.25, Seed: 71}
	cloth := Paint{Base: RGB{0.06, 0.09, 0.22}, Second: RGB{0.14, 0.18, 0.32}, Size: 0.08, Contrast: 0.4, Seed: 72}
	return day(
		Thing{Shape: Panel, At: Vec{0, 0, 6}, Size: Vec{16, 9, 0}, Yaw: -8, Paint: plaster},
		Thing{Shape: Panel, At: Vec{-1.7, -0.4, 5}, Size: Vec{1.2, 1.6, 0}, Paint: house.seeded(5).coarser(0.3)},
		Thing{Shape: Ball, At: Vec{0.05 * math.Sin(t), 0.02 * math.Sin(2.3*t), 2}, Size: Vec{0.44, 0, 0}, Yaw: 8 * math.Sin(t), Paint: skin},
		Thing{Shape: Ball, At: Vec{0.03 * math.Sin(t), 0.75, 2.2}, Size: Vec{0.9, 0, 0}, Paint: cloth},
	)
}

func corridor(t float64) World {
	w := day(
		level(1.4, timber.coarser(3)),
		Thing{Shape: Block, At: Vec{-2.7, 0, 20}, Size: Vec{2, 6, 44}, Paint: plaster},
		Thing{Shape: Block, At: Vec{2.7, 0, 20}, Size: Vec{2, 6, 44}, Paint: brick},
		level(-1.3, plaster.seeded(2)),
		Thing{Shape: Panel, At: Vec{0, 0, 38}, Size: Vec{8, 6, 0}, Paint: house.seeded(1)},
		Thing{Shape: Ball, At: Vec{0.6 * math.Sin(t), 1, 6}, Size: Vec{0.5, 0, 0}, Paint: paintRed},
	)
	w.Ambient = 0.8
	return w
}

func target(float64) World {
	checks := Paint{Pattern: Checks, Base: RGB{0.03, 0.03, 0.03}, Second: RGB{0.75, 0.75, 0.75}, Cell: [2]float64{0.1, 0.1}, Size: 0.08, Contrast: 0.12, Seed: 81}
	w := day(Thing{Shape: Panel, At: Vec{0, 0, 1.5}, Size: Vec{3, 2, 0}, Paint: checks})
	w.Ambient = 1
	return w
}

func landscape(t float64) World {
	w := day(
		level(40, grass.coarser(30)),
		Thing{Shape: Ball, At: Vec{-150, 240, 520}, Size: Vec{500, 0, 0}, Paint: grass.coarser(25).seeded(1)},
		Thing{Shape: Ball, At: Vec{220, 300, 700}, Size: Vec{640, 0, 0}, Paint: grass.coarser(30).seeded(2)},
		Thing{Shape: Panel, At: Vec{0, -10, 1500}, Size: Vec{3000, 260, 0}, Paint: Paint{Base: RGB{0.2, 0.25, 0.34}, Second: RGB{0.4, 0.42, 0.46}, Size: 90, Contrast: 0.35, Seed: 91}},
		Thing{Shape: Block, At: Vec{-20 + 6*t, 36, 220}, Size: Vec{16, 7, 7}, Paint: paintRed.coarser(10)},
		Thing{Shape: Block, At: Vec{70, 24, 260}, Size: Vec{18, 34, 18}, Yaw: 30, Paint: brick.coarser(10)},
	)
	w.Haze, w.HazeColour = 0.0004, RGB{0.5, 0.58, 0.7}
	return w
}

func ground(float64) World {
	return day(level(1.6, asphalt.coarser(1.5)))
}

func posts(t float64) World {
	w := day(
		level(1.5, grass),
		Thing{Shape: Panel, At: Vec{0, -2, 14}, Size: Vec{40, 8, 0}, Paint: plaster},
	)
	for i := range 22 {
		z := 3.2 + 0.42*float64(i)
		w.Things = append(w.Things, Thing{
			Shape: Post,
			At:    Vec{0.43*z*scatter(uint32(i)*2654435761+5) + 0.05*math.Sin(t+float64(i)), 0, z},
			Size:  Vec{pick(0.03, 0.09, i, 21), 3.4, 0},
			Yaw:   30 * t,
			Paint: []Paint{timber, paintRed, plaster}[i%3].seeded(uint32(i)),
		})
	}
	return w
}

func crowd(t float64) World {
	w := day(
		level(1.6, asphalt),
		Thing{Shape: Panel, At: Vec{0, -3, 18}, Size: Vec{60, 10, 0}, Paint: house},
	)
	for i := range 40 {
		z := 3.4 + 0.28*float64(i)
		bob := 0.25 * math.Sin(pick(4, 7, i, 31)*t+float64(i))
		w.Things = append(w.Things, Thing{
			Shape: Ball,
			At:    Vec{0.45 * z * scatter(uint32(i)*2654435761+77), 0.12*z*scatter(uint32(i)*40503+3) + 0.4 + bob, z},
			Size:  Vec{pick(0.35, 0.7, i, 32), 0, 0},
			Paint: []Paint{timber, paintRed, plaster, grass.coarser(0.3)}[i%4].seeded(uint32(i)),
		})
	}
	return w
}

func stairs(t float64) World {
	w := day(
		level(1.6, asphalt),
		Thing{Shape: Panel, At: Vec{0, -5, 16}, Size: Vec{50, 16, 0}, Paint: brick},
		Thing{Shape: Ball, At: Vec{-1 + 0.4*t, 0.9 + 0.2*math.Abs(math.Sin(4*t)), 4.4}, Size: Vec{0.4, 0, 0}, Paint: paintRed},
	)
	for i := range 12 {
		w.Things = append(w.Things, Thing{
			Shape: Block,
			At:    Vec{0, 1.6 - 0.1*float64(i+1), 5.5 + 0.4*float64(i)},
			Size:  Vec{5, 0.2 * float64(i+1), 0.4},
			Paint: plaster.seeded(uint32(i)),
		})
	}
	return w
}

func yard(t float64) World {
	return day(
		level(1.5, asphalt.coarser(0.7)),
		Thing{Shape: Panel, At: Vec{0, -1.5, 11}, Size: Vec{40, 6, 0}, Paint: brick},
		Thing{Shape: Panel, At: Vec{-1, -9, 40}, Size: Vec{60, 24, 0}, Paint: grass.coarser(4)},
		Thing{Shape: Block, At: Vec{-1.7, 0.95, 5}, Size: Vec{1.1, 1.1, 1.1}, Yaw: 30 + 6*t, Paint: timber},
		Thing{Shape: Block, At: Vec{1.9, 0.6, 6.4}, Size: Vec{1.3, 1.8, 1.1}, Yaw: -25, Paint: paintRed},
		Thing{Shape: Block, At: Vec{-0.2, 1.15, 7.5}, Size: Vec{1.6, 0.7, 0.8}, Yaw: 8, Paint: plaster},
		Thing{Shape: Ball, At: Vec{-0.6 + 0.5*t, 1.2, 4.2}, Size: Vec{0.6, 0, 0}, Roll: 95 * t, Paint: plaster.seeded(8)},
		Thing{Shape: Post, At: Vec{0.9, -0.6, 8.5}, Size: Vec{0.16, 4.4, 0}, Paint: timber.seeded(2)},
	)
}
