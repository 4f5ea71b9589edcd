package metrics_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics"
	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
)

// FuzzMeasure measures everything on a drawn pair, cropped to any size, read as any kind of
// picture, and painted over by edits: no panic, no value that is not a number. The
// input is short, as what fuzzing makes of whole pictures is hardly ever more than noise.
func FuzzMeasure(f *testing.F) {
	shot := synth.Shot{Scene: scene(f, "yard"), Width: 320, Height: 180, Depth: 8, Chroma: synth.Chroma444, Noise: 1, Seed: 1}
	shot.Rig.Picture = synth.PictureError{Shift: 1, Roll: 0.5, Zoom: 1}
	left, right, _ := shot.Render(0.3)
	require.True(f, lookup(f, "roll").Measure(&metrics.Pair{Left: left, Right: right}).OK(), "there is something to spoil")

	f.Add(uint16(320), uint16(180), uint8(0), uint8(1), uint8(0), []byte{})
	f.Add(uint16(320), uint16(180), uint8(1), uint8(0), uint8(9), []byte{0, 20, 20, 100, 200, 0})
	f.Add(uint16(319), uint16(177), uint8(2), uint8(4), uint8(15), []byte{1, 0, 0, 255, 255, 90, 2, 0, 0, 255, 255, 30})
	f.Add(uint16(160), uint16(90), uint8(0), uint8(6), uint8(0), []byte{3, 10, 30, 60, 200, 7, 4, 0, 0, 90, 255, 3, 5, 80, 0, 40, 255, 0})
	f.Add(uint16(1), uint16(1), uint8(1), uint8(10), uint8(39), []byte{6, 0, 0, 255, 255, 1})
	f.Fuzz(func(t *testing.T, width, height uint16, layout, colour, aspect uint8, edits []byte) {
		eyes := [2]*picture.Frame{}
		for i, whole := range []*picture.Frame{left, right} {
			e := cropped(whole, 0, 0, 1+int(width-1)%320, 1+int(height-1)%180)
			e.Layout = picture.Layout(layout % 3)
			if e.Layout == picture.Grey {
				e.Planes = e.Planes[:1]
			}
			e.PixelAspect = float64(aspect%40) / 10
			e.Colour = picture.Colour{Range: picture.Range(colour % 3), Transfer: picture.Transfer(colour / 3 % 7)}
			for p := range e.Planes {
				e.Planes[p].Pix = slices.Clone(e.Planes[p].Pix)
			}
			eyes[i] = e
		}
		for n, edit := range slices.Collect(slices.Chunk(edits, 6)) {
			if len(edit) == 6 && n < 50 {
				paint(eyes, [6]byte(edit))
			}
		}
		measureAll(t, &metrics.Pair{Left: eyes[0], Right: eyes[1]})
	})
}

// paint does to a rectangle of one eye or both what the edit says: a kind, left, top,
// width and height in 256ths of the picture, and a value.
func paint(eyes [2]*picture.Frame, edit [6]byte) {
	kind, value := edit[0], uint16(edit[5])
	for i, f := range eyes {
		if kind%3 == byte(i)+1 {
			continue // the other eye alone
		}
		for k := range f.Planes {
			p, other := f.Planes[k], eyes[1-i].Planes[k]
			x0, y0 := int(edit[1])*p.Width/256, int(edit[2])*p.Height/256
			x1, y1 := min(p.Width, x0+1+int(edit[3])*p.Width/256), min(p.Height, y0+1+int(edit[4])*p.Height/256)
			for y := y0; y < y1; y++ {
				row := p.Row(y)
				for x := x0; x < x1; x++ {
					switch kind / 3 % 6 {
					case 0:
						row[x] = value
					case 1:
						row[x] = 255 - row[x]
					case 2: // noise
						row[x] = uint16(uint32(x*7919+y*104729+int(value)*31) * 2654435761 >> 24)
					case 3: // stripes
						row[x] = 255 * uint16(y/(1+int(value)%16)%2)
					case 4: // the other eye's picture, shifted
						row[x] = other.Row(y)[(x+int(value))%p.Width]
					case 5: // clipped
						row[x] = min(row[x], value)
					}
				}
			}
		}
	}
}
