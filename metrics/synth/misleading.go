package synth

import "math"

// Misleading lists scenes whose light, repetition or flatness misleads in the same way at all
// moments of a shot, so that no number of moments averages it out. What is nearest and what is
// farthest in them, which decide the ends of the parallax, mirrors nothing.
var Misleading = []Scene{
	{
		Name: "mirror ball", Doc: "a mirroring ball that fills a third of the picture: what it shows lies neither on it nor on the lines of the rig",
		Interaxial: 0.065, Focal: 1.1, Convergence: 4, World: mirrorBall, Camera: drift(0.2, 0.08, 0.05),
	},
	{
		Name: "shop window", Doc: "a pane of glass over nearly all of the picture, which mirrors the street behind the camera",
		Interaxial: 0.065, Focal: 1.1, Convergence: 4.5, World: shopWindow, Camera: drift(0.25, 0.06, 0.05),
	},
	{
		Name: "hammered metal", Doc: "uneven metal walls whose highlights and reflections differ between the eyes",
		Interaxial: 0.065, Focal: 1.1, Convergence: 4.5, World: hammeredMetal, Camera: drift(0.25, 0.1, 0.1),
	},
	{
		Name: "railings", Doc: "two rows of like rails before slats: texture that repeats at several distances",
		Interaxial: 0.065, Focal: 1.1, Convergence: 5, World: railings, Camera: drift(0.3, 0.08, 0.1),
	},
	{
		Name: "vines", Doc: "curtains of stems and leaves that are all alike",
		Interaxial: 0.055, Focal: 1.2, Convergence: 4.5, World: vines, Camera: drift(0.1, 0.05, 0.05),
	},
	{
		Name: "fog", Doc: "crates and posts that fade into fog: what is far is faint",
		Interaxial: 0.065, Focal: 1.1, Convergence: 5, World: fog, Camera: drift(0.2, 0.1, 0.2),
	},
	{
		Name: "one wall", Doc: "a wall square to the rig, behind the screen: one plane of one parallax",
		Interaxial: 0.065, Focal: 1.2, Convergence: 4, World: oneWall, Camera: drift(0.3, 0.15, 0),
	},
	{
		Name: "far country", Doc: "hills from 400 m on under a sky with clouds: everything infinitely far",
		Interaxial: 0.065, Focal: 1.3, Convergence: 8, World: farCountry, Camera: drift(2, 1, 3),
	},
	{
		Name: "still life", Doc: "things at rest on a table, the camera travels steadily sideways: delay and camera height look alike",
		Interaxial: 0.06, Focal: 1.2, Convergence: 3.2, World: stillLife,
		Camera: func(t float64) Pose { return Pose{At: Vec{X: -0.5 + 0.12*t}} },
	},
	{
		Name: "satin", Doc: "draperies with a sheen: all light depends on the eye's place",
		Interaxial: 0.065, Focal: 1.2, Convergence: 4, World: satin, Camera: drift(0.15, 0.08, 0.05),
	},
	{
		Name: "ripples", Doc: "a pond that mirrors its bank in ripples and fills two thirds of the picture",
		Interaxial: 0.065, Focal: 1.1, Convergence: 5, World: ripples, Camera: drift(0.2, 0.05, 0.1),
	},
	{
		Name: "slope", Doc: "a hillside seen from above with a fence before it: parallax that follows the picture's height",
		Interaxial: 0.065, Focal: 1.1, Convergence: 5.5, World: slope, Camera: drift(0.3, 0.1, 0.3),
	},
}

// behind is what stands behind the camera, for mirrors to show.
func behind() []Thing {
	things := []Thing{
		{Shape: Panel, At: Vec{0, -2, -9}, Size: Vec{40, 9, 0}, Paint: house.seeded(41)},
		{Shape: Panel, At: Vec{-9, -2, -1}, Size: Vec{20, 9, 0}, Yaw: 90, Paint: brick.seeded(42)},
		{Shape: Panel, At: Vec{9, -2, -1}, Size: Vec{20, 9, 0}, Yaw: 90, Paint: plaster.seeded(43)},
	}
	for i := range 6 {
		things = append(things, Thing{
			Shape: Block, At: Vec{pick(-4, 4, i, 51), 0.6, pick(-6, -2.5, i, 52)}, Size: Vec{0.6, 1.8, 0.5}, Yaw: pick(-40, 40, i, 53),
			Paint: []Paint{timber, paintRed, plaster}[i%3].seeded(uint32(44 + i)),
		})
	}
	return things
}

// nearBlock and farWall are plain things of known place at both ends of the parallax.
func nearBlock() Thing {
	return Thing{Shape: Block, At: Vec{-1.15, 0.75, 2.9}, Size: Vec{0.7, 0.9, 0.5}, Yaw: 12, Paint: timber.seeded(61)}
}

func farWall(z float64) Thing {
	return Thing{Shape: Panel, At: Vec{0, -1, z}, Size: Vec{4 * z, 2 * z, 0}, Paint: brick.coarser(1.5).seeded(62)}
}

func mirrorBall(t float64) World {
	ball := Paint{Base: RGB{0.1, 0.1, 0.1}, Mirror: 0.9}
	w := day(append(behind(),
		level(1.5, asphalt), farWall(9), nearBlock(),
		Thing{Shape: Ball, At: Vec{0.4, 0.1, 6}, Size: Vec{2.6, 0, 0}, Paint: ball},
		Thing{Shape: Post, At: Vec{2.2, 0, 5.5}, Size: Vec{0.15, 4, 0}, Paint: paintRed.seeded(63)},
	)...)
	return w
}

func shopWindow(t float64) World {
	w := day(append(behind(), level(1.5, timber.coarser(2)), farWall(8), nearBlock())...)
	for i := range 7 {
		w.Things = append(w.Things, Thing{
			Shape: Block, At: Vec{-2.4 + 0.8*float64(i), pick(0.4, 1, i, 64), pick(4.5, 6.5, i, 65)}, Size: Vec{0.5, 0.9, 0.4}, Yaw: pick(-50, 50, i, 66),
			Paint: []Paint{paintRed, plaster, timber}[i%3].seeded(uint32(67 + i)),
		})
	}
	w.Veils = append(w.Veils, Thing{At: Vec{0.6, -0.3, 3.4}, Size: Vec{3.4, 3, 0}, Yaw: 6, Paint: Paint{Mirror: 0.4, Bumps: 0.004, BumpSize: 0.6, Seed: 68}})
	return w
}

func hammeredMetal(t float64) World {
	metal := Paint{Base: RGB{0.2, 0.19, 0.17}, Second: RGB{0.28, 0.26, 0.22}, Size: 0.2, Contrast: 0.3, Mirror: 0.45, Gloss: 0.5, Bumps: 0.08, BumpSize: 0.12, Seed: 71}
	return day(append(behind(),
		level(1.5, asphalt), farWall(9), nearBlock(),
		Thing{Shape: Panel, At: Vec{0.9, 0, 5}, Size: Vec{2.6, 3, 0}, Yaw: -15, Paint: metal},
		Thing{Shape: Post, At: Vec{-0.6, 0, 4}, Size: Vec{0.7, 4, 0}, Paint: metal.seeded(2)},
		Thing{Shape: Block, At: Vec{2.1, 1, 4.2}, Size: Vec{0.8, 0.9, 0.8}, Yaw: 30, Paint: metal.seeded(3)},
	)...)
}

func railings(t float64) World {
	slats := Paint{Pattern: Stripes, Base: RGB{0.4, 0.3, 0.2}, Second: RGB{0.04, 0.04, 0.05}, Cell: [2]float64{0.12, 0}, Gap: 0.3, Size: 0.4, Contrast: 0.15, Seed: 72}
	rail := Paint{Base: RGB{0.05, 0.06, 0.05}, Second: RGB{0.09, 0.1, 0.09}, Contrast: 0.1, Size: 0.2}
	w := day(level(1.5, asphalt), Thing{Shape: Panel, At: Vec{0, -1, 9}, Size: Vec{40, 8, 0}, Paint: slats}, nearBlock())
	for row, z := range []float64{4, 6} {
		for i := range 41 {
			w.Things = append(w.Things, Thing{Shape: Post, At: Vec{0.16 * float64(i-20), 0.4, z}, Size: Vec{0.04, 2.2, 0}, Paint: rail.seeded(uint32(row))})
		}
		w.Things = append(w.Things, Thing{Shape: Block, At: Vec{0, -0.7, z}, Size: Vec{7, 0.06, 0.06}, Paint: rail})
	}
	return w
}

func vines(t float64) World {
	leaf := Paint{Base: RGB{0.07, 0.2, 0.04}, Second: RGB{0.2, 0.3, 0.08}, Size: 0.1, Contrast: 0.15, Seed: 73}
	stem := timber.coarser(0.5)
	w := day(level(1.4, grass), farWall(8))
	for row := range 3 {
		z := 3.2 + 1.3*float64(row)
		for i := range 13 {
			x := (0.075*float64(i-6) + 0.02*float64(row)) * z
			sway := 0.015 * math.Sin(1.5*t+float64(i))
			w.Things = append(w.Things, Thing{Shape: Post, At: Vec{x + sway, 0, z}, Size: Vec{0.03, 4, 0}, Paint: stem})
			for k := range 7 {
				w.Things = append(w.Things, Thing{
					Shape: Disc, At: Vec{x + sway + 0.06*float64(k%2*2-1), (0.085*float64(k) - 0.28) * z, z - 0.05}, Size: Vec{0.14, 0.08, 0},
					Roll: 30 * float64(k%2*2-1), Yaw: 20, Paint: leaf,
				})
			}
		}
	}
	return w
}

func fog(t float64) World {
	w := yard(t)
	for i := range 8 {
		z := 4.5 + 1.6*float64(i)
		w.Things = append(w.Things, Thing{Shape: Post, At: Vec{0.4 * z * scatter(uint32(i)*2654435761+9), 0, z}, Size: Vec{0.16, 3, 0}, Paint: timber.seeded(uint32(74 + i))})
	}
	w.Haze, w.HazeColour = 0.14, RGB{0.42, 0.43, 0.45}
	w.Sky = Paint{Base: w.HazeColour}
	w.Ambient = 0.85
	return w
}

func oneWall(float64) World {
	return day(Thing{Shape: Panel, At: Vec{0, 0, 7}, Size: Vec{16, 9, 0}, Paint: plaster.seeded(75)})
}

func farCountry(t float64) World {
	w := day(
		Thing{Shape: Ball, At: Vec{-260, 420, 900}, Size: Vec{860, 0, 0}, Paint: grass.coarser(40).seeded(76)},
		Thing{Shape: Ball, At: Vec{330, 560, 1300}, Size: Vec{1200, 0, 0}, Paint: grass.coarser(60).seeded(77)},
		Thing{Shape: Panel, At: Vec{0, 40, 2600}, Size: Vec{6000, 640, 0}, Paint: Paint{Base: RGB{0.18, 0.24, 0.3}, Second: RGB{0.36, 0.4, 0.44}, Size: 120, Contrast: 0.4, Seed: 78}},
		Thing{Shape: Ground, At: Vec{0, 60, 2000}, Size: Vec{6000, 0, 3200}, Paint: grass.coarser(50).seeded(79)},
	)
	w.Sky = Paint{Base: RGB{0.3, 0.45, 0.75}, Second: RGB{0.8, 0.8, 0.82}, Size: 0.25, Contrast: 0.25, Seed: 80}
	return w
}

func stillLife(float64) World {
	w := day(
		level(0.5, timber),
		Thing{Shape: Panel, At: Vec{0, -1, 5.5}, Size: Vec{14, 7, 0}, Paint: plaster.seeded(81)},
	)
	for i := range 9 {
		at := Vec{pick(-1.1, 1.1, i, 82), 0.5, 2.3 + 0.25*float64(i)}
		size, paint := pick(0.2, 0.4, i, 83), []Paint{paintRed, plaster, timber}[i%3].coarser(0.4).seeded(uint32(84+i))
		shape := []Shape{Ball, Block, Post}[i%3]
		at.Y -= size / 2
		w.Things = append(w.Things, Thing{Shape: shape, At: at, Size: Vec{size, size, size}, Yaw: pick(-40, 40, i, 85), Paint: paint})
	}
	return w
}

func satin(t float64) World {
	cloth := Paint{Base: RGB{0.16, 0.05, 0.09}, Second: RGB{0.3, 0.12, 0.16}, Size: 0.25, Contrast: 0.3, Sheen: 1.6, Bumps: 0.12, BumpSize: 0.5, Seed: 86}
	blue := cloth
	blue.Base, blue.Second = RGB{0.05, 0.08, 0.2}, RGB{0.1, 0.16, 0.34}
	w := day(
		Thing{Shape: Panel, At: Vec{0, 0, 6.5}, Size: Vec{18, 10, 0}, Yaw: 8, Paint: cloth},
		level(1.3, blue.coarser(2)),
		Thing{Shape: Post, At: Vec{-0.9, 0, 3.6}, Size: Vec{0.7, 5, 0}, Paint: blue.seeded(1)},
		Thing{Shape: Ball, At: Vec{0.8, 0.6, 3.3}, Size: Vec{1, 0, 0}, Paint: cloth.seeded(2)},
		Thing{Shape: Block, At: Vec{0.1, 0.8, 4.6}, Size: Vec{0.9, 1, 0.9}, Yaw: 35, Paint: blue.seeded(3)},
	)
	w.Sun, w.Ambient = Vec{0.25, -0.35, -0.9}, 0.25
	return w
}

func ripples(t float64) World {
	pond := Paint{Pattern: Waves, Base: RGB{0.02, 0.05, 0.05}, Size: 0.35, Contrast: 0.03, Persistence: 0.6, Phase: 0.3 * t, Mirror: 0.75, Gloss: 0.4, Seed: 87}
	w := day(
		level(1.3, pond),
		Thing{Shape: Panel, At: Vec{0, -1.5, 16}, Size: Vec{60, 6, 0}, Paint: grass.coarser(2)},
		Thing{Shape: Block, At: Vec{-2.5, 0, 12}, Size: Vec{3, 3, 2}, Paint: brick.seeded(88)},
		nearBlock(),
		Thing{Shape: Post, At: Vec{1.3, 0, 4.2}, Size: Vec{0.16, 3, 0}, Paint: timber.seeded(89)},
		Thing{Shape: Post, At: Vec{0.2, 0, 7}, Size: Vec{0.2, 3, 0}, Paint: paintRed.seeded(90)},
	)
	w.Sun, w.Ambient = Vec{0.15, -0.45, 0.9}, 0.6
	return w
}

func slope(float64) World {
	w := day(Thing{Shape: Ground, At: Vec{0, 1.2, 30}, Size: Vec{120, 0, 58}, Pitch: 6, Paint: grass.coarser(0.8)})
	for i := range 7 {
		w.Things = append(w.Things, Thing{Shape: Post, At: Vec{-2.4 + 0.8*float64(i), 1, 4}, Size: Vec{0.08, 1.6, 0}, Paint: timber.seeded(uint32(91 + i))})
	}
	return w
}
