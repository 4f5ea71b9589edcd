package synth

// World is what stands before the cameras at one moment.
type World struct {
	Things []Thing
	// Veils are panels that let through what is behind them, as smoke does. The
	// truth is that of what is behind.
	Veils []Thing
	// Sky is what is seen where there is no thing, infinitely far away; lengths
	// in it are in radians.
	Sky Paint
	// Sun points to the light; Ambient is the share of light that comes from
	// everywhere, 0 to 1.
	Sun     Vec
	Ambient float64
	// Light is the brightness of it all; 0 means 1.
	Light float64
	// Haze is the share of light lost per metre, with its colour.
	Haze       float64
	HazeColour RGB
}

// RGB is linear light, 1 being the white of the picture.
type RGB struct{ R, G, B float64 }

// Shape is the form of a thing.
type Shape uint8

const (
	Panel  Shape = iota // an upright rectangle, Size.X by Size.Y
	Disc                // an upright ellipse
	Ground              // a level rectangle, Size.X by Size.Z
	Ball                // of diameter Size.X
	Block               // Size.X by Size.Y by Size.Z
	Post                // an upright cylinder without its ends, Size.X thick and Size.Y high
)

// Thing is a textured object. Turned by Yaw, Pitch and Roll degrees, its
// texture turns with it.
type Thing struct {
	Shape            Shape
	At               Vec // its centre
	Size             Vec // metres
	Yaw, Pitch, Roll float64
	Paint            Paint
}

// Pose says where a camera is and where it looks: turned to the right by Yaw
// and up by Pitch, in degrees.
type Pose struct {
	At         Vec
	Yaw, Pitch float64
}

func (p Pose) turn() mat {
	return turnX(-p.Pitch * degree).times(turnY(-p.Yaw * degree))
}
