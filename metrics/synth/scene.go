package synth

// Scene is a world that moves, with the rig that suits it.
type Scene struct {
	Name string
	Doc  string // what it shows, and what is hard about it

	Interaxial  float64 // metres
	Focal       float64 // picture widths
	Convergence float64 // metres

	// World returns what is there at time t in seconds. It lists the same things
	// in the same order at all times.
	World func(t float64) World
	// Camera returns where the left camera is at time t; nil means that it rests
	// at the origin.
	Camera func(t float64) Pose
}

func (s Scene) pose(t float64) Pose {
	if s.Camera == nil {
		return Pose{}
	}
	return s.Camera(t)
}

// Named finds one of Scenes or of Misleading by its name.
func Named(name string) (Scene, bool) {
	for _, list := range [...][]Scene{Scenes, Misleading} {
		for _, s := range list {
			if s.Name == name {
				return s, true
			}
		}
	}
	return Scene{}, false
}
