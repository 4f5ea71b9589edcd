package synth

import "math"

// view is a world as one camera sees it at one instant, laid out for casting
// rays.
type view struct {
	cam    camera
	solids []solid
	veils  []solid
	sky    texture
	world  World
	sun    Vec
}

// solid is a thing in a form that is quick to hit.
type solid struct {
	shape Shape
	at    Vec
	turn  mat // from the world to the thing
	half  Vec
	paint texture
	eye   Vec // the camera's place in the thing's own frame
	// The pixels from the picture centre that can show it.
	left, right, top, bottom float64
}

// hit is where a ray meets a thing.
type hit struct {
	solid int // index of the thing, −1 for the sky
	face  int
	depth float64 // along the axis of the camera, metres
}

var sky = hit{solid: -1, depth: math.Inf(1)}

func look(w World, cam camera) *view {
	v := &view{cam: cam, sky: w.Sky.withDefaults(), world: w, sun: w.Sun.unit()}
	if v.world.Light == 0 {
		v.world.Light = 1
	}
	for _, t := range w.Things {
		v.solids = append(v.solids, v.solid(t))
	}
	for _, t := range w.Veils {
		v.veils = append(v.veils, v.solid(t))
	}
	return v
}

func (v *view) solid(t Thing) solid {
	s := solid{
		shape: t.Shape,
		at:    t.At,
		turn:  turnZ(-t.Roll * degree).times(turnX(-t.Pitch * degree)).times(turnY(-t.Yaw * degree)),
		half:  t.Size.scale(0.5),
		paint: t.Paint.withDefaults(),
		left:  math.Inf(-1), right: math.Inf(1), top: math.Inf(-1), bottom: math.Inf(1),
	}
	s.eye = s.turn.apply(v.cam.centre.sub(s.at))

	// A sphere about the thing bounds the pixels that can show it, unless the
	// camera is inside or beside it.
	radius := s.half.norm()
	switch s.shape {
	case Ball:
		radius = s.half.X
	case Panel, Disc, Post:
		radius = math.Hypot(s.half.X, s.half.Y)
	case Ground:
		radius = math.Hypot(s.half.X, s.half.Z)
	}
	q := v.cam.turn.apply(s.at.sub(v.cam.centre))
	if q.Z < -radius {
		s.right = math.Inf(-1)
		return s
	}
	distance := q.norm()
	if distance <= radius {
		return s
	}
	// The angle that the sphere fills, spread by the obliqueness of the rays.
	tan := radius / math.Sqrt(distance*distance-radius*radius)
	cos := q.Z / distance
	if cos-tan < 0.1 {
		return s
	}
	x, y, _ := v.cam.picture(q)
	reach := v.cam.focal*tan/(cos*(cos-tan))*math.Hypot(v.cam.m[0][0], v.cam.m[0][1]) + 3
	s.left, s.right, s.top, s.bottom = x-reach, x+reach, y-reach, y+reach
	return s
}

// cross returns the depth at which the ray in direction d meets the solid, and
// the face, or +Inf. The camera's rays are as long as their depth.
func (s *solid) cross(d Vec) (depth float64, face int) {
	return s.crossFrom(s.eye, s.turn.apply(d))
}

// crossFrom does so for a ray in the solid's own frame.
func (s *solid) crossFrom(o, l Vec) (depth float64, face int) {
	switch s.shape {
	case Panel, Disc:
		depth = -o.Z / l.Z
		x, y := o.X+depth*l.X, o.Y+depth*l.Y
		inside := math.Abs(x) <= s.half.X && math.Abs(y) <= s.half.Y
		if s.shape == Disc {
			x, y = x/s.half.X, y/s.half.Y
			inside = x*x+y*y <= 1
		}
		if depth > 0 && inside {
			return depth, 0
		}
	case Ground:
		depth = -o.Y / l.Y
		if depth > 0 && math.Abs(o.X+depth*l.X) <= s.half.X && math.Abs(o.Z+depth*l.Z) <= s.half.Z {
			return depth, 0
		}
	case Ball:
		a, b, c := l.dot(l), o.dot(l), o.dot(o)-s.half.X*s.half.X
		if disc := b*b - a*c; disc >= 0 {
			if depth = (-b - math.Sqrt(disc)) / a; depth > 0 {
				return depth, 0
			}
		}
	case Post:
		a, b, c := l.X*l.X+l.Z*l.Z, o.X*l.X+o.Z*l.Z, o.X*o.X+o.Z*o.Z-s.half.X*s.half.X
		if disc := b*b - a*c; disc >= 0 {
			depth = (-b - math.Sqrt(disc)) / a
			if depth > 0 && math.Abs(o.Y+depth*l.Y) <= s.half.Y {
				return depth, 0
			}
		}
	case Block:
		near, far := math.Inf(-1), math.Inf(1)
		for axis, e := range [3][3]float64{{o.X, l.X, s.half.X}, {o.Y, l.Y, s.half.Y}, {o.Z, l.Z, s.half.Z}} {
			if e[1] == 0 {
				if math.Abs(e[0]) > e[2] {
					return math.Inf(1), 0
				}
				continue
			}
			enter, leave, side := (-e[2]-e[0])/e[1], (e[2]-e[0])/e[1], 2*axis
			if enter > leave {
				enter, leave, side = leave, enter, side+1
			}
			if enter > near {
				near, face = enter, side
			}
			far = min(far, leave)
		}
		if near <= far && near > 0 {
			return near, face
		}
	}
	return math.Inf(1), 0
}

// normal returns the outward direction at local place l of a face, in the
// thing's own frame.
func (s *solid) normal(l Vec, face int) Vec {
	switch s.shape {
	case Panel, Disc:
		return Vec{0, 0, -1}
	case Ground:
		return Vec{0, -1, 0}
	case Ball:
		return l.unit()
	case Post:
		return Vec{l.X, 0, l.Z}.unit()
	default:
		sign := float64(2*(face&1) - 1)
		return [3]Vec{{sign, 0, 0}, {0, sign, 0}, {0, 0, sign}}[face/2]
	}
}

// surface returns the texture coordinates, in metres, of local place l on its face.
func (s *solid) surface(l Vec, face int) (u, v float64) {
	switch s.shape {
	case Panel, Disc:
		return l.X, l.Y
	case Ground:
		return l.X, l.Z
	case Ball, Post:
		return s.half.X * math.Atan2(l.X, -l.Z), l.Y
	default:
		switch face / 2 {
		case 0:
			return l.Z, l.Y
		case 1:
			return l.X, l.Z
		default:
			return l.X, l.Y
		}
	}
}

// row lists the solids that a row of pixels from y−1 to y+1 can show.
func (v *view) row(y float64, dst []int) []int {
	dst = dst[:0]
	for i := range v.solids {
		if s := &v.solids[i]; s.top <= y && y <= s.bottom && s.right >= s.left {
			dst = append(dst, i)
		}
	}
	return dst
}

// cast finds what the pixel (x, y) from the picture centre shows, among the
// solids of its row.
func (v *view) cast(x, y float64, row []int) hit {
	d := v.cam.ray(x, y)
	best := sky
	for _, i := range row {
		s := &v.solids[i]
		if x < s.left || x > s.right {
			continue
		}
		if depth, face := s.cross(d); depth < best.depth {
			best = hit{i, face, depth}
		}
	}
	return best
}

// colour returns the light that comes to pixel (x, y) from what was hit there.
func (v *view) colour(x, y float64, h hit) RGB {
	d := v.cam.ray(x, y)
	var c RGB
	if h.solid < 0 {
		c = v.skylight(d)
	} else {
		s := &v.solids[h.solid]
		c = v.shade(s, s.eye, d, h, h.depth/v.cam.focal)
		if s.paint.Mirror > 0 {
			c = blend(c, v.mirrored(s, h.solid, x, y), s.paint.Mirror)
		}
	}
	if v.world.Haze > 0 {
		through := 0.0
		if h.solid >= 0 {
			through = math.Pow(1-v.world.Haze, h.depth*d.norm())
		}
		c = blend(v.world.HazeColour, c, through)
	}
	for i := range v.veils {
		s := &v.veils[i]
		depth, _ := s.cross(d)
		if depth >= h.depth {
			continue
		}
		l := s.eye.along(s.turn.apply(d), depth)
		if s.paint.Cover > 0 {
			c = blend(c, s.paint.Base, s.paint.veil(l, depth/v.cam.focal))
		}
		if s.paint.Mirror > 0 {
			c = blend(c, v.mirrored(s, -1, x, y), s.paint.Mirror)
		}
	}
	return c
}

// skylight is the sky in direction d.
func (v *view) skylight(d Vec) RGB {
	d = d.unit()
	c := v.sky.plain(v.sky.grain(d, false, 1/v.cam.focal, Vec{}))
	return RGB{c.R * v.world.Light, c.G * v.world.Light, c.B * v.world.Light}
}

// shade returns the light of a solid that the ray from o, in the solid's frame, in direction d
// hits, over a footprint of width w.
func (v *view) shade(s *solid, o, d Vec, h hit, w float64) RGB {
	dl := s.turn.apply(d)
	l := o.along(dl, h.depth)
	n := s.normal(l, h.face)
	if n.dot(dl) > 0 {
		n = n.scale(-1)
	}
	length := dl.norm()
	cos := max(-n.dot(dl)/length, 0.02)

	// A surface seen at a slant fills the pixel with a long strip of itself.
	strip := dl.along(n, -n.dot(dl)).unit().scale(w / cos)
	if s.paint.Pattern == Waves {
		return v.water(s, d, l, w, strip)
	}
	var grain, coarse float64
	if s.shape == Ball || s.shape == Post {
		grain, coarse = s.paint.grain(l, false, w, strip)
	} else {
		// Far apart in texture coordinates, the faces of a block have grains of their own.
		const apart = 1000
		a, b := s.surface(l, h.face)
		da, db := s.surface(strip, h.face)
		grain, coarse = s.paint.grain(Vec{a + apart*float64(h.face), b, 0}, true, w, Vec{da, db, 0})
	}
	var c RGB
	if s.paint.Pattern == Grain {
		c = s.paint.plain(grain, coarse)
	} else {
		places := min(int(math.Ceil(1.2/cos)), 16)
		for i := range places {
			at := l
			if places > 1 {
				at = l.along(strip, aperture((float64(i)+0.5)/float64(places)))
			}
			a, b := s.surface(at, h.face)
			p := s.paint.figure(a, b, w)
			c.R, c.G, c.B = c.R+p.R, c.G+p.G, c.B+p.B
		}
		k := 1 / float64(places)
		c = s.paint.grained(RGB{c.R * k, c.G * k, c.B * k}, grain)
	}

	nw := s.turn.back(n)
	lit := v.world.Ambient + (1-v.world.Ambient)*max(0, nw.dot(v.sun))
	shining := s.turn.back(s.paint.bumped(n, l, w, strip))
	if s.paint.Sheen > 0 {
		lit += s.paint.Sheen * highlight(d, shining, v.sun, 6)
	}
	lit = lit*v.world.Light + s.paint.Glow
	c = RGB{c.R * lit, c.G * lit, c.B * lit}
	if s.paint.Gloss > 0 {
		g := s.paint.Gloss * v.world.Light * highlight(d, shining, v.sun, 40)
		c = RGB{c.R + g, c.G + g, c.B + g}
	}
	return c
}

// water mirrors the sky and the sun in waves.
func (v *view) water(s *solid, d, l Vec, w float64, strip Vec) RGB {
	sx, sz := s.paint.slope(l, w, strip)
	n := s.turn.back(Vec{sx, -1, sz}.unit())
	r := d.along(n, -2*d.dot(n))
	r.Y = min(r.Y, -r.Y)
	m := v.skylight(r)
	g := s.paint.Gloss * v.world.Light * highlight(d, n, v.sun, 150)
	deep := s.paint.Base
	return RGB{mix(deep.R, m.R, 0.5) + g, mix(deep.G, m.G, 0.5) + g, mix(deep.B, m.B, 0.5) + g}
}

// mirrored is what the pixel (x, y) shows of a solid's surroundings in that solid, which is
// the one of the given index among the world's things; −1 for a pane.
func (v *view) mirrored(s *solid, index int, x, y float64) RGB {
	// Four places of the pixel's aperture, no two in one row or column and even about its
	// centre. A pane is so even that its middle is enough.
	const n = 4
	aperture := [n][2]float64{{-0.375, 0.125}, {-0.125, -0.375}, {0.125, 0.375}, {0.375, -0.125}}
	at := aperture[:]
	if index < 0 {
		at = [][2]float64{{}}
	}
	var sum RGB
	for _, at := range at {
		d := v.cam.ray(x+at[0], y+at[1])
		depth, face := s.cross(d)
		if math.IsInf(depth, 1) { // just beside its edge
			d = v.cam.ray(x, y)
			depth, face = s.cross(d)
		}
		dl := s.turn.apply(d)
		l := s.eye.along(dl, depth)
		normal := s.normal(l, face)
		if normal.dot(dl) > 0 {
			normal = normal.scale(-1)
		}
		cos := max(-normal.dot(dl)/dl.norm(), 0.02)
		w := depth / v.cam.focal
		strip := dl.along(normal, -normal.dot(dl)).unit().scale(w / cos)
		// Bent and uneven mirrors spread what a pixel shows.
		spread := 1/v.cam.focal + s.paint.Bumps/n
		if s.shape == Ball || s.shape == Post {
			spread += 2 * w / (s.half.X * cos)
		}
		if s.paint.Pattern == Waves {
			sx, sz := s.paint.slope(l, w, strip)
			normal = Vec{sx, -1, sz}.unit()
			spread += s.paint.Contrast / n
		}
		normal = s.paint.bumped(normal, l, w, strip)
		ray := dl.along(normal, -2*dl.dot(normal)).unit()
		c := v.surroundings(index, s.turn.back(l).add(s.at), s.turn.back(ray), w, spread)
		sum.R, sum.G, sum.B = sum.R+c.R, sum.G+c.G, sum.B+c.B
	}
	k := 1 / float64(len(at))
	return RGB{k * sum.R, k * sum.G, k * sum.B}
}

// surroundings is what is seen from a place in direction d, but for the solid of the given
// index, through a footprint of width w there that grows by spread for each metre.
func (v *view) surroundings(index int, from, d Vec, w, spread float64) RGB {
	best := sky
	for i := range v.solids {
		if i == index {
			continue
		}
		s := &v.solids[i]
		if depth, face := s.crossFrom(s.turn.apply(from.sub(s.at)), s.turn.apply(d)); depth < best.depth {
			best = hit{i, face, depth}
		}
	}
	if best.solid < 0 {
		return v.skylight(d)
	}
	s := &v.solids[best.solid]
	return v.shade(s, s.turn.apply(from.sub(s.at)), d, best, w+spread*best.depth)
}

// highlight is the sun as mirrored by a surface with normal n, seen along d.
func highlight(d, n, sun Vec, sharpness float64) float64 {
	r := d.along(n, -2*d.dot(n)).unit()
	k := r.dot(sun)
	if k <= 0 {
		return 0
	}
	return math.Pow(k, sharpness)
}
