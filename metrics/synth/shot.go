package synth

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"nightpair/metrics/picture"
)

// Shot is a scene filmed with a rig. With zero values for all but Scene it gives pairs of
// pictures of 960×540 pixels in 4:2:2, 10 bit, narrow range, 24 per second, without any
// fault and without noise.
type Shot struct {
	Scene       Scene
	Rig         Rig
	Left, Right Light // what each camera does to the light
	// Noise is the sensor noise of both eyes at 18 % grey, a standard deviation
	// in 8-bit code values. Moments and eyes have noise of their own.
	Noise float64
	// Seed changes the noise, and nothing else.
	Seed uint64

	Width, Height int // pixels; 0 means 960 and 540
	Depth         int // bits, 8 to 16; 0 means 10
	Chroma        Chroma
	FullRange     bool

	Rate float64 // frames per second; 0 means 24
	// Shutter is how long each frame is exposed, in frames; 0 is an instant.
	Shutter float64
	// Lens is that of both cameras.
	Lens Lens
	// Late is by how many frames the right eye is late at mid-height: its picture shows what
	// was there so long before. Skew is by how many frames later the bottom of its picture is
	// than the top, as with a rolling shutter.
	Late, Skew float64
}

// withDefaults returns the shot with its zero values replaced.
func (s Shot) withDefaults() Shot {
	if s.Width == 0 {
		s.Width = 960
	}
	if s.Height == 0 {
		s.Height = 540
	}
	if s.Depth == 0 {
		s.Depth = 10
	}
	if s.Rate == 0 {
		s.Rate = 24
	}
	s.Rig = s.Rig.withDefaults(s.Scene)
	return s
}

// Render draws both eyes at time t in seconds.
func (s Shot) Render(t float64) (left, right *picture.Frame, truth *Truth) {
	return s.Eye(LeftEye, t), s.Eye(RightEye, t), s.Truth(t)
}

// Eye draws one eye at time t in seconds. The frame's index is that time in frames, rounded.
func (s Shot) Eye(eye Eye, t float64) *picture.Frame {
	s = s.withDefaults()
	light := s.Left
	if eye == RightEye {
		light = s.Right
	}
	p := s.expose(eye, t)
	p.blur(light.Blur)
	p.expose(light)
	index := math.Round(t * s.Rate)
	seed := random(s.Seed ^ uint64(int64(index))<<8 ^ uint64(eye))
	p.grain(s.Noise, seed.next())
	f := p.frame(s.Depth, s.Chroma, s.FullRange, light.Lift)
	f.Index = int(index)
	f.Time = time.Duration(math.Round(t * 1e9))
	return f
}

// exposures is how many instants stand for an open shutter.
const exposures = 8

// expose averages the light of one eye while its shutter is open around time t.
func (s *Shot) expose(eye Eye, t float64) *linearPicture {
	if s.Shutter == 0 {
		return s.draw(eye, t)
	}
	var sum *linearPicture
	for i := range exposures {
		open := ((float64(i)+0.5)/exposures - 0.5) * s.Shutter / s.Rate
		p := s.draw(eye, t+open)
		if sum == nil {
			sum = p
			continue
		}
		for i, v := range p.pix {
			sum.pix[i] += v
		}
	}
	for i := range sum.pix {
		sum.pix[i] /= exposures
	}
	return sum
}

// instant returns the time in seconds that an eye's row y, counted in pixels from the
// picture centre, shows in the picture of time t.
func (s *Shot) instant(eye Eye, t, y float64) float64 {
	if eye == LeftEye {
		return t
	}
	return t - (s.Late+s.Skew*y/float64(s.Height))/s.Rate
}

// view lays out the scene for one eye at time t.
func (s *Shot) view(eye Eye, t float64) *view {
	pose := s.Scene.pose(t)
	cam := s.Rig.left(pose, s.Width, s.Height)
	if eye == RightEye {
		cam = s.Rig.right(pose, s.Width, s.Height)
	}
	return look(s.Scene.World(t), cam)
}

// draw casts one ray for each pixel and 16 where things meet in it.
func (s *Shot) draw(eye Eye, t float64) *linearPicture {
	w, h := s.Width, s.Height
	cx, cy := float64(w-1)/2, float64(h-1)/2
	still := eye == LeftEye || s.Skew == 0
	views := make([]*view, h)
	for y := range views {
		if y > 0 && still {
			views[y] = views[0]
			continue
		}
		views[y] = s.view(eye, s.instant(eye, t, float64(y)-cy))
	}

	hits := make([]hit, w*h)
	eachRow(h, func(y int) {
		v := views[y]
		row := v.row(float64(y)-cy, nil)
		for x := range w {
			hits[y*w+x] = v.cast(float64(x)-cx, float64(y)-cy, row)
		}
	})

	p := newPicture(w, h)
	eachRow(h, func(y int) {
		v := views[y]
		row := v.row(float64(y)-cy, nil)
		dst := p.row(y)
		for x := range w {
			here := hits[y*w+x]
			px, py := float64(x)-cx, float64(y)-cy
			var c RGB
			if alone(hits, x, y, w, h) {
				c = v.colour(px, py, here)
			} else {
				c = v.split(px, py, row, uint32(y*w+x))
			}
			dst[3*x], dst[3*x+1], dst[3*x+2] = float32(c.R), float32(c.G), float32(c.B)
		}
	})
	if s.Lens.Aperture > 0 {
		blur := make([]float64, w*h)
		for i, hit := range hits {
			blur[i] = s.Lens.blur(hit.depth, views[i/w].cam.focal)
		}
		p.defocus(blur)
	}
	return p
}

// alone reports whether a pixel and its neighbours all show one face.
func alone(hits []hit, x, y, w, h int) bool {
	here := hits[y*w+x]
	for v := max(y-1, 0); v <= min(y+1, h-1); v++ {
		for u := max(x-1, 0); u <= min(x+1, w-1); u++ {
			if n := hits[v*w+u]; n.solid != here.solid || n.face != here.face {
				return false
			}
		}
	}
	return true
}

// split averages 16 places of a pixel's aperture, no two in one row or column,
// shifted differently in each pixel so that edges show no steps.
func (v *view) split(x, y float64, row []int, pixel uint32) RGB {
	const n = 16
	dx, dy := (scatter(pixel*2+1)+1)/2, (scatter(pixel*2+2)+1)/2
	var sum RGB
	for i := range n {
		_, a := math.Modf((float64(i)+0.5)/n + dx)
		_, b := math.Modf((float64(i*7%n)+0.5)/n + dy)
		u, w := x+aperture(a), y+aperture(b)
		c := v.colour(u, w, v.cast(u, w, row))
		sum.R, sum.G, sum.B = sum.R+c.R, sum.G+c.G, sum.B+c.B
	}
	return RGB{sum.R / n, sum.G / n, sum.B / n}
}

// eachRow calls f for every row, on all processors.
func eachRow(rows int, f func(y int)) {
	var next atomic.Int64
	var group sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		group.Go(func() {
			for {
				y := int(next.Add(1)) - 1
				if y >= rows {
					return
				}
				f(y)
			}
		})
	}
	group.Wait()
}
