package synth

import (
	"math"
	"slices"
	"sync"
)

// Truth is what is known about a pair without looking at its pictures.
type Truth struct {
	// Width and Height are those of one eye's picture in pixels.
	Width, Height int
	// Injected holds the faults that were put in.
	Injected Injected

	shot        Shot
	time        float64
	left, right *view
	once        sync.Once
	field       *Field
}

// Injected is what was put into a pair, in the units and with the signs of the
// metrics of the same names. The geometry terms are those of the exact vertical
// disparity Δy(x′, y) at the picture centre, of a plane square to the left camera that has no
// parallax there: its value, and its derivatives by x′ (Roll), y (Zoom), x′·y (Keystone), y²
// (TiltKeystone) and the plane's parallax (HeightStep).
type Injected struct {
	VerticalOffset float64 // % of height
	Roll           float64 // degrees
	Zoom           float64 // %
	Keystone       float64 // % of height, at the corner
	TiltKeystone   float64 // % of height, at the top edge
	HeightStep     float64 // % of height per 1 % of width of parallax

	Exposure    float64 // stops
	RedBalance  float64 // stops against green
	BlueBalance float64 // stops against green
	BlackLift   float64 // % of full scale, of the signal
	Softness    float64 // px of Gaussian blur, in 1920-wide pixels
	SyncOffset  float64 // frames
	ReadoutSkew float64 // frames, top to bottom
}

// TrueMatch is where a place seen by one eye lies in the other.
type TrueMatch struct {
	// DX and DY are its place in the other eye's picture less its place in this
	// one, in pixels.
	DX, DY float64
	// Depth is its distance from this eye along the camera's axis in metres,
	// +Inf for the sky.
	Depth float64
	// Seen says that the other eye sees it: inside its picture and not hidden.
	Seen bool
}

// Field is the matches of all pixels of the left eye, row by row.
type Field struct {
	Width, Height int
	Parallax      []float32 // x_right − x_left, pixels
	Vertical      []float32 // y_right − y_left, pixels
	Seen          []bool    // by both eyes
}

// Truth returns the truth at time t in seconds. It does not draw.
func (s Shot) Truth(t float64) *Truth {
	s = s.withDefaults()
	truth := &Truth{Width: s.Width, Height: s.Height, shot: s, time: t}
	truth.left = s.view(LeftEye, t)
	truth.right = s.view(RightEye, s.instant(RightEye, t, 0))
	truth.Injected = s.injected(0)
	return truth
}

// At returns the match of pixel (x, y) of the left eye, counted from the top left pixel; it
// may lie between pixels. ok is false where the place is behind the right camera.
func (t *Truth) At(x, y float64) (m TrueMatch, ok bool) {
	x, y = x-float64(t.Width-1)/2, y-float64(t.Height-1)/2
	return t.match(x, y, t.left.cast(x, y, t.left.row(y, nil)))
}

func (t *Truth) match(x, y float64, h hit) (m TrueMatch, ok bool) {
	d := t.left.cam.ray(x, y)
	m.Depth = h.depth
	right := t.right
	rx, ry, ok := locate(t.left, right, d, h)
	if t.shot.Skew != 0 && ok {
		// The row decides the time and the time the row.
		for range 5 {
			right = t.shot.view(RightEye, t.shot.instant(RightEye, t.time, ry))
			if rx, ry, ok = locate(t.left, right, d, h); !ok {
				break
			}
		}
	}
	if !ok {
		return TrueMatch{}, false
	}
	m.DX, m.DY = rx-x, ry-y
	if math.Abs(rx) > float64(t.Width)/2 || math.Abs(ry) > float64(t.Height)/2 {
		return m, true
	}
	seen := right.cast(rx, ry, right.row(ry, nil))
	if h.solid < 0 {
		m.Seen = seen.solid < 0
		return m, true
	}
	depth := right.cam.turn[2].dot(place(t.left, right, d, h).sub(right.cam.centre))
	m.Seen = seen.depth > depth*(1-1e-6)
	return m, true
}

// locate returns the pixel at which a view shows what another one hit along d.
func locate(from, to *view, d Vec, h hit) (x, y float64, ok bool) {
	if h.solid < 0 {
		return to.cam.picture(to.cam.turn.apply(d))
	}
	return to.cam.project(place(from, to, d, h))
}

// place returns where the place on a thing that was hit in one view is in
// another view's world.
func place(from, to *view, d Vec, h hit) Vec {
	a, b := &from.solids[h.solid], &to.solids[h.solid]
	l := a.eye.along(a.turn.apply(d), h.depth)
	return b.turn.back(l).add(b.at)
}

// Field returns the matches of all pixels. It is worked out when first asked
// for.
func (t *Truth) Field() *Field {
	t.once.Do(func() {
		w, h := t.Width, t.Height
		f := &Field{Width: w, Height: h, Parallax: make([]float32, w*h), Vertical: make([]float32, w*h), Seen: make([]bool, w*h)}
		eachRow(h, func(y int) {
			py := float64(y) - float64(h-1)/2
			row := t.left.row(py, nil)
			for x := range w {
				px := float64(x) - float64(w-1)/2
				m, ok := t.match(px, py, t.left.cast(px, py, row))
				if !ok {
					m.DX, m.DY = math.NaN(), math.NaN()
				}
				i := y*w + x
				f.Parallax[i], f.Vertical[i], f.Seen[i] = float32(m.DX), float32(m.DY), m.Seen
			}
		})
		t.field = f
	})
	return t.field
}

// Parallax returns a percentile, 0 to 100, of x_right − x_left over the pixels
// that both eyes see, in % of the picture width: 1 is near_parallax, 99
// far_parallax. NaN when they share nothing.
func (t *Truth) Parallax(percentile float64) float64 {
	f := t.Field()
	return 100 / float64(t.Width) * quantile(f.shared(f.Parallax, false), percentile)
}

// VerticalWorst returns the 95th percentile of the size of the vertical
// disparity over the pixels that both eyes see, in % of the picture height.
func (t *Truth) VerticalWorst() float64 {
	f := t.Field()
	return 100 / float64(t.Height) * quantile(f.shared(f.Vertical, true), 95)
}

// shared lists the values of pixels that both eyes see.
func (f *Field) shared(values []float32, size bool) []float64 {
	out := make([]float64, 0, len(values))
	for i, v := range values {
		if !f.Seen[i] {
			continue
		}
		if size {
			v = max(v, -v)
		}
		out = append(out, float64(v))
	}
	return out
}

// quantile sorts values and interpolates between the two nearest ranks.
func quantile(values []float64, percentile float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	slices.Sort(values)
	at := percentile / 100 * float64(len(values)-1)
	i := min(int(at), len(values)-1)
	j := min(i+1, len(values)-1)
	return mix(values[i], values[j], at-float64(i))
}

// InjectedAt returns what was put in, the geometry terms being those of what lies at a
// parallax, in % of the picture width: of a plane square to the left camera that has this
// parallax at the centre of the right picture.
func (t *Truth) InjectedAt(parallax float64) Injected {
	return t.shot.injected(parallax / 100 * float64(t.Width))
}

// injected returns what was put in, for what lies at parallax p, in pixels.
func (s *Shot) injected(p float64) Injected {
	in := Injected{
		Exposure:    s.Right.Exposure - s.Left.Exposure,
		RedBalance:  s.Right.Red - s.Left.Red,
		BlueBalance: s.Right.Blue - s.Left.Blue,
		BlackLift:   s.Right.Lift - s.Left.Lift,
		SyncOffset:  s.Late,
		ReadoutSkew: s.Skew,
	}
	blur := s.Right.Blur*s.Right.Blur - s.Left.Blur*s.Left.Blur
	in.Softness = math.Copysign(math.Sqrt(math.Abs(blur)), blur) * 1920 / float64(s.Width)

	w, h := float64(s.Width), float64(s.Height)
	left, right := s.Rig.left(Pose{}, s.Width, s.Height), s.Rig.right(Pose{}, s.Width, s.Height)
	at := nearness(left, right, 0, 0, p)
	dy := func(x, y float64) float64 { return disparity(left, right, x, y, at) }
	const e = 1.0 // px: the function is so smooth that differences over it are derivatives
	in.VerticalOffset = 100 / h * dy(0, 0)
	slopeX := (dy(e, 0) - dy(-e, 0)) / (2 * e)
	slopeY := (dy(0, e) - dy(0, -e)) / (2 * e)
	roll := math.Atan(slopeX)
	in.Roll = roll / degree
	in.Zoom = 100 * ((1+slopeY)*math.Cos(roll) - 1)
	const wide = 50.0 // second differences need a wider step to keep their digits
	twist := (dy(wide, wide) - dy(-wide, wide) - dy(wide, -wide) + dy(-wide, -wide)) / (4 * wide * wide)
	in.Keystone = 100 / h * twist * w / 2 * h / 2
	bend := (dy(0, wide) - 2*dy(0, 0) + dy(0, -wide)) / (wide * wide)
	in.TiltKeystone = 100 / h * bend / 2 * h / 2 * h / 2
	if s.Rig.Interaxial > 0 {
		behind, before := nearness(left, right, 0, 0, p+e), nearness(left, right, 0, 0, p-e)
		in.HeightStep = (disparity(left, right, 0, 0, behind) - disparity(left, right, 0, 0, before)) / (2 * e) * w / h
	}
	return in
}

// nearness returns the inverse depth from the left camera, per metre, of what the right camera
// shows at column xr with parallax p and the left camera on row y, all in pixels from the
// picture centre; 0 where the cameras stand in one place.
func nearness(left, right camera, xr, y, p float64) float64 {
	ray := right.turn.apply(left.ray(xr-p, y))
	step := right.turn.apply(right.centre.sub(left.centre))
	// The right camera sees ray − k·step, k being the nearness; its column is
	// linear in k above and below the line. Written as a·q = 0 with
	// a = (m00·f, m01·f, m00·slide + shift − x′).
	a := Vec{right.m[0][0] * right.focal, right.m[0][1] * right.focal, right.m[0][0]*right.slide + right.shiftX - xr}
	if below := a.dot(step); below != 0 {
		return a.dot(ray) / below
	}
	return 0
}

// disparity returns y′ − y for what the right camera shows at column x′ and the left camera on
// row y, in pixels from the picture centre, of what lies at a nearness.
func disparity(left, right camera, xr, y, nearness float64) float64 {
	step := right.turn.apply(right.centre.sub(left.centre))
	x, yr := xr, 0.0
	for range 6 { // the columns of both eyes differ by little more than a constant
		u, v, ok := right.picture(right.turn.apply(left.ray(x, y)).along(step, -nearness))
		if !ok {
			return math.NaN()
		}
		x, yr = x+xr-u, v
	}
	return yr - y
}

// Project returns the pixel, counted from the picture centre, at which an eye
// shows a place of the scene at time t in seconds, whether or not something
// hides it. ok is false for what is behind the camera.
func (s Shot) Project(eye Eye, p Vec, t float64) (x, y float64, ok bool) {
	s = s.withDefaults()
	v := s.view(eye, s.instant(eye, t, 0))
	return v.cam.project(p)
}
