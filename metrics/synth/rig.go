package synth

import "math"

// Rig says how the two cameras stand. The zero value is the rig that the scene recommends,
// perfectly lined up.
type Rig struct {
	// Interaxial is the distance between the cameras in metres; 0 takes the
	// scene's.
	Interaxial float64
	// Flat puts both cameras in one place.
	Flat bool
	// Focal is the left camera's focal length in picture widths; 0 takes the
	// scene's.
	Focal float64
	// Convergence is the distance in metres of what has no parallax; 0 takes the
	// scene's, +Inf leaves the cameras parallel.
	Convergence float64
	// ToeIn converges by turning both cameras by the same angle, which brings
	// its keystone; otherwise the right picture is shifted.
	ToeIn bool

	Camera  CameraError
	Picture PictureError
}

// CameraError is how the right camera departs from where the rig wants it.
type CameraError struct {
	// Tilt, Pan and Roll turn the camera by so many degrees. A positive tilt moves the
	// picture up, a positive pan moves it to the right (more toe-in), and a
	// positive roll turns the picture clockwise. Pan is applied first, roll last.
	Tilt, Pan, Roll float64
	// Focal is the relative error of the focal length; positive: too long.
	Focal float64
	// Height and Forward are by how much the camera stands too low and too far
	// forward, in interaxial distances, along the axes of the left camera.
	Height, Forward float64
}

// PictureError is what is done to the right picture as a whole: turned and
// enlarged about its centre, then shifted.
type PictureError struct {
	Shift float64 // % of picture height, positive down
	Slide float64 // % of picture width, positive to the right
	Roll  float64 // degrees, positive clockwise
	Zoom  float64 // %, positive larger
}

// Eye is the left or the right camera.
type Eye uint8

const (
	LeftEye Eye = iota
	RightEye
)

// camera maps places to pixels from the picture centre.
type camera struct {
	centre Vec
	turn   mat     // from the world to the camera
	focal  float64 // px
	slide  float64 // px, added to x before the picture error
	// The picture error: picture = m·(x, y) + shift.
	m      [2][2]float64
	inv    [2][2]float64
	shiftX float64
	shiftY float64
}

func (c *camera) setPicture(e PictureError, width, height int) {
	s, co := math.Sincos(e.Roll * degree)
	k := 1 + e.Zoom/100
	c.m = [2][2]float64{{k * co, -k * s}, {k * s, k * co}}
	c.inv = [2][2]float64{{co / k, s / k}, {-s / k, co / k}}
	c.shiftX = e.Slide / 100 * float64(width)
	c.shiftY = e.Shift / 100 * float64(height)
}

// picture gives the pixel of a direction in the camera's own axes.
func (c *camera) picture(q Vec) (x, y float64, ok bool) {
	if q.Z <= 0 {
		return 0, 0, false
	}
	u := c.focal*q.X/q.Z + c.slide
	v := c.focal * q.Y / q.Z
	return c.m[0][0]*u + c.m[0][1]*v + c.shiftX, c.m[1][0]*u + c.m[1][1]*v + c.shiftY, true
}

func (c *camera) project(p Vec) (x, y float64, ok bool) {
	return c.picture(c.turn.apply(p.sub(c.centre)))
}

// ray gives the direction through a pixel; one of it is one metre of depth.
func (c *camera) ray(x, y float64) Vec {
	x, y = x-c.shiftX, y-c.shiftY
	u := c.inv[0][0]*x + c.inv[0][1]*y - c.slide
	v := c.inv[1][0]*x + c.inv[1][1]*y
	return c.turn.back(Vec{u / c.focal, v / c.focal, 1})
}

// withDefaults returns the rig with the scene's recommendation filled in.
func (r Rig) withDefaults(s Scene) Rig {
	if r.Interaxial == 0 {
		r.Interaxial = s.Interaxial
	}
	if r.Flat {
		r.Interaxial = 0
	}
	if r.Focal == 0 {
		r.Focal = s.Focal
	}
	if r.Convergence == 0 {
		r.Convergence = s.Convergence
	}
	return r
}

// left and right return the cameras for a rig with defaults whose left camera is at
// pose.
func (r Rig) left(pose Pose, width, height int) camera {
	c := camera{centre: pose.At, turn: pose.turn(), focal: r.Focal * float64(width)}
	if r.ToeIn {
		c.turn = turnY(-r.toe()).times(c.turn)
	}
	c.setPicture(PictureError{}, width, height)
	return c
}

func (r Rig) right(pose Pose, width, height int) camera {
	left := r.left(pose, width, height)
	e := r.Camera
	c := camera{focal: left.focal * (1 + e.Focal)}
	pan := e.Pan * degree
	base := Vec{1, e.Height, e.Forward}
	if r.ToeIn {
		pan += 2 * r.toe()
		s, co := math.Sincos(r.toe())
		base = Vec{co, e.Height, s + e.Forward}
	} else {
		c.slide = r.Interaxial * left.focal / r.Convergence
	}
	c.centre = left.centre.add(left.turn.back(base.scale(r.Interaxial)))
	c.turn = turnZ(e.Roll * degree).times(turnX(e.Tilt * degree)).times(turnY(pan)).times(left.turn)
	c.setPicture(r.Picture, width, height)
	return c
}

// toe is the angle by which each camera is turned in, in radians.
func (r Rig) toe() float64 { return math.Atan(r.Interaxial / (2 * r.Convergence)) }
