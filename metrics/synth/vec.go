package synth

import "math"

// Vec is a place or a direction in metres: X to the right, Y down, Z away from
// the viewer.
type Vec struct{ X, Y, Z float64 }

func (a Vec) add(b Vec) Vec              { return Vec{a.X + b.X, a.Y + b.Y, a.Z + b.Z} }
func (a Vec) sub(b Vec) Vec              { return Vec{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }
func (a Vec) scale(k float64) Vec        { return Vec{a.X * k, a.Y * k, a.Z * k} }
func (a Vec) dot(b Vec) float64          { return a.X*b.X + a.Y*b.Y + a.Z*b.Z }
func (a Vec) norm() float64              { return math.Sqrt(a.dot(a)) }
func (a Vec) along(b Vec, k float64) Vec { return Vec{a.X + k*b.X, a.Y + k*b.Y, a.Z + k*b.Z} }

func (a Vec) unit() Vec {
	n := a.norm()
	if n == 0 {
		return a
	}
	return a.scale(1 / n)
}

// mat is a rotation matrix; its rows are the axes of the turned frame.
type mat [3]Vec

func (m *mat) apply(v Vec) Vec { return Vec{m[0].dot(v), m[1].dot(v), m[2].dot(v)} }

// back applies the inverse of m.
func (m *mat) back(v Vec) Vec {
	return Vec{
		m[0].X*v.X + m[1].X*v.Y + m[2].X*v.Z,
		m[0].Y*v.X + m[1].Y*v.Y + m[2].Y*v.Z,
		m[0].Z*v.X + m[1].Z*v.Y + m[2].Z*v.Z,
	}
}

// times returns the rotation that applies b first and then m.
func (m mat) times(b mat) mat {
	var out mat
	for i, row := range m {
		out[i] = b.back(row)
	}
	return out
}

const degree = math.Pi / 180

// turnX, turnY and turnZ turn a vector by an angle in radians about an axis,
// from y to z, from z to x and from x to y.
func turnX(a float64) mat {
	s, c := math.Sincos(a)
	return mat{{1, 0, 0}, {0, c, -s}, {0, s, c}}
}

func turnY(a float64) mat {
	s, c := math.Sincos(a)
	return mat{{c, 0, s}, {0, 1, 0}, {-s, 0, c}}
}

func turnZ(a float64) mat {
	s, c := math.Sincos(a)
	return mat{{c, -s, 0}, {s, c, 0}, {0, 0, 1}}
}
