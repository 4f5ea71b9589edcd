package metrics_test

import (
	"testing"

	"nightpair/metrics"
	"nightpair/metrics/synth"
)

// FuzzMeasure measures everything on arbitrary pictures: no panic, no value that is
// not a number.
func FuzzMeasure(f *testing.F) {
	for _, name := range []string{"yard", "blinds", "chart"} {
		s := scene(f, name)
		shot := synth.Shot{Scene: s, Width: 240, Height: 135, Depth: 8, Chroma: synth.Chroma444, Noise: 1, Seed: 1}
		shot.Rig.Picture = synth.PictureError{Shift: 1, Roll: 0.5, Zoom: 1}
		left, right, _ := shot.Render(0.3)
		f.Add(samples(left), samples(right), uint16(240), uint8(1), uint8(0), uint8(0))
		f.Add(samples(left)[:240*135], samples(left)[:240*135], uint16(240), uint8(0), uint8(2), uint8(9))
		f.Add(samples(left), samples(right)[:3000], uint16(200), uint8(2), uint8(1), uint8(5))
	}
	f.Add([]byte{}, []byte{1}, uint16(0), uint8(0), uint8(0), uint8(0))
	f.Fuzz(func(t *testing.T, left, right []byte, width uint16, layout, colour, aspect uint8) {
		p := &metrics.Pair{
			Left:  frameOf(left, int(width), layout, colour, aspect),
			Right: frameOf(right, int(width), layout, colour, aspect),
		}
		measureAll(t, p)
		measureAll(t, &metrics.Pair{Left: p.Right, Right: p.Left})
	})
}

// samples lists the low bytes of all samples of a frame.
func samples(f *metrics.Frame) (out []byte) {
	for _, p := range f.Planes {
		for y := range p.Height {
			for _, v := range p.Row(y) {
				out = append(out, byte(v))
			}
		}
	}
	return out
}

// frameOf makes a frame of bytes: as many rows as they fill, at least one.
func frameOf(data []byte, width int, layout, colour, aspect uint8) *metrics.Frame {
	width = min(max(width, 1), 2000)
	f := &metrics.Frame{Layout: metrics.Layout(layout % 3), Depth: 8, PixelAspect: float64(aspect%40) / 10}
	f.Colour = metrics.Colour{Range: metrics.Range(colour % 3), Transfer: metrics.Transfer(colour / 3 % 7)}
	planes := 3
	if f.Layout == metrics.Grey {
		planes = 1
	}
	height := min(max(len(data)/width/planes, 1), 1200)
	for i := range planes {
		p := metrics.Plane{Width: width, Height: height, Stride: width, Pix: make([]uint16, width*height)}
		for k := range p.Pix {
			if at := i*width*height + k; at < len(data) {
				p.Pix[k] = uint16(data[at])
			}
		}
		f.Planes = append(f.Planes, p)
	}
	return f
}
