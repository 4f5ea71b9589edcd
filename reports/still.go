package reports

import (
	"bytes"
	"fmt"
	"html/template"
	"image"
	"image/color"
	"image/jpeg"
	"net/url"

	"golang.org/x/image/draw"
)

// still is a moment of a clip as three pictures: each eye, and both as an
// anaglyph.
type still struct {
	Clip                  string
	Frame                 int
	When                  string // timecode, or time since the beginning
	left, right, anaglyph string // names in the folder pictures
	Width, Height         int
}

// Caption says which moment it is.
func (s still) Caption() string {
	return fmt.Sprintf("Frame %d, %s", s.Frame, s.When)
}

// triple is a still with the addresses of its pictures, as a page in a certain
// place needs them.
type triple struct {
	still
	Left, Right, Both template.URL
	Lazy              bool // load when scrolled to
}

func newTriple(s still, folder string, lazy bool) triple {
	at := func(name string) template.URL { return template.URL(folder + url.PathEscape(name)) }
	return triple{still: s, Left: at(s.left), Right: at(s.right), Both: at(s.anaglyph), Lazy: lazy}
}

// maxStills keeps the page of a clip with many findings readable.
const maxStills = 4

// shownMoments chooses the moments to show of a clip: where its findings are
// worst, the worst finding first, or else the middle.
func (c *clip) shownMoments() []int {
	var with []int // moments that have pictures
	for i, m := range c.Moments {
		if len(m.Left) > 0 && len(m.Right) > 0 {
			with = append(with, i)
		}
	}
	if len(with) == 0 {
		return nil
	}
	var shown []int
	seen := map[int]bool{}
	for _, f := range c.verdict.Findings {
		if f.Worst < 0 || len(shown) == maxStills {
			continue
		}
		nearest := with[0]
		for _, i := range with {
			if distance(c.Moments[i].Frame, f.Worst) < distance(c.Moments[nearest].Frame, f.Worst) {
				nearest = i
			}
		}
		if !seen[nearest] {
			seen[nearest] = true
			shown = append(shown, nearest)
		}
	}
	if len(shown) == 0 {
		shown = append(shown, with[len(with)/2])
	}
	return shown
}

func distance(p, q int) int { return max(p-q, q-p) }

// writeStills writes the pictures of all clips and notes on each clip which it
// has, or why it has none.
func (r *report) writeStills(out *folder) error {
	for _, c := range r.clips {
		shown := c.shownMoments()
		if len(shown) == 0 {
			c.noStill = "no moment has pictures of both eyes"
		}
		for _, i := range shown {
			m := c.Moments[i]
			both, size, err := anaglyph(m.Left, m.Right)
			if err != nil {
				c.noStill = err.Error()
				continue
			}
			base := fmt.Sprintf("%s-%d", c.key, m.Frame)
			s := still{Clip: c.name(), Frame: m.Frame, When: orElse(m.Timecode, clock(m.Time.Seconds(), 2)),
				left: base + "-left.jpg", right: base + "-right.jpg", anaglyph: base + "-both.jpg",
				Width: size.X, Height: size.Y}
			for _, p := range []struct {
				name string
				data []byte
			}{{s.left, m.Left}, {s.right, m.Right}, {s.anaglyph, both}} {
				if err := out.write("pictures/"+p.name, markedJPEG(p.data)); err != nil {
					return err
				}
			}
			c.stills = append(c.stills, s)
		}
	}
	return nil
}

// anaglyph lays the two eyes over each other for red and cyan glasses: the
// grey picture of the left eye in the red channel, that of the right eye in
// green and blue. The eyes may differ in size by a row or column; the smaller
// counts. It also returns the size of one eye's picture.
func anaglyph(left, right []byte) ([]byte, image.Point, error) {
	l, err := jpeg.Decode(bytes.NewReader(left))
	if err != nil {
		return nil, image.Point{}, fmt.Errorf("left picture: %w", err)
	}
	r, err := jpeg.Decode(bytes.NewReader(right))
	if err != nil {
		return nil, image.Point{}, fmt.Errorf("right picture: %w", err)
	}
	lg, rg := grey(l), grey(r)
	w := min(lg.Rect.Dx(), rg.Rect.Dx())
	h := min(lg.Rect.Dy(), rg.Rect.Dy())
	both := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			v := rg.GrayAt(x, y).Y
			both.SetRGBA(x, y, color.RGBA{R: lg.GrayAt(x, y).Y, G: v, B: v, A: 0xff})
		}
	}
	// The encoder keeps colour at half the resolution, and here colour is what
	// tells the eyes apart. At twice the size each pixel keeps its own.
	twice := image.NewRGBA(image.Rect(0, 0, 2*w, 2*h))
	draw.ApproxBiLinear.Scale(twice, twice.Rect, both, both.Rect, draw.Src, nil)
	var b bytes.Buffer
	err = jpeg.Encode(&b, twice, &jpeg.Options{Quality: anaglyphQuality})
	return b.Bytes(), image.Pt(w, h), err
}

// anaglyphQuality is by eye: below it the blocks show through the glasses.
const anaglyphQuality = 85

// grey returns the luma of a picture, starting at 0, 0.
func grey(p image.Image) *image.Gray {
	b := p.Bounds()
	g := image.NewGray(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(g, g.Rect, p, b.Min, draw.Src)
	return g
}

// markedJPEG puts our mark into a comment segment behind the start of image
// (ITU-T T.81, B.1.1.3 and B.2.4.5), so that a later report knows the file for
// ours.
func markedJPEG(data []byte) []byte {
	const startOfImage = 2
	n := len(mark) + 2 // the length counts itself
	out := make([]byte, 0, len(data)+n+2)
	out = append(out, data[:startOfImage]...)
	out = append(out, 0xff, 0xfe, byte(n>>8), byte(n))
	out = append(out, mark...)
	return append(out, data[startOfImage:]...)
}
