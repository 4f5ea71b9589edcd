package picture

import (
	"image/color"
	"testing"

	"github.com/stretchr/testify/require"
)

// flat returns a frame of one colour, chroma halved in width.
func flat(layout Layout, depth int, colour Colour, code ...uint16) *Frame {
	f := &Frame{Layout: layout, Depth: depth, Colour: colour}
	for i, v := range code {
		p := Plane{Width: 64, Height: 36}
		if layout == YCbCr && i > 0 {
			p.Width /= 2
		}
		p.Stride = p.Width + 3
		p.Pix = make([]uint16, p.Stride*p.Height)
		for j := range p.Pix {
			p.Pix[j] = v
		}
		f.Planes = append(f.Planes, p)
	}
	return f
}

func TestPictureColours(t *testing.T) {
	// 0.75 on a display of Rec. ITU-R BT.1886 is 0.75^2.4 = 0.5013 of white,
	// which sRGB writes as 188.
	const on, off = 188, 0
	bt709 := Colour{Matrix: BT709}
	tests := []struct {
		name    string
		frame   *Frame
		r, g, b int
	}{
		// The 75 % colour bars in 8 bits with the matrix of Rec. ITU-R BT.709,
		// as published in SMPTE RP 219 (from memory, and equal to the matrix
		// worked by hand).
		{"white bar", flat(YCbCr, 8, bt709, 180, 128, 128), on, on, on},
		{"yellow bar", flat(YCbCr, 8, bt709, 168, 44, 136), on, on, off},
		{"cyan bar", flat(YCbCr, 8, bt709, 145, 147, 44), off, on, on},
		{"green bar", flat(YCbCr, 8, bt709, 133, 63, 52), off, on, off},
		{"magenta bar", flat(YCbCr, 8, bt709, 63, 193, 204), on, off, on},
		{"red bar", flat(YCbCr, 8, bt709, 51, 109, 212), on, off, off},
		{"blue bar", flat(YCbCr, 8, bt709, 28, 212, 120), off, off, on},
		{"red of Rec. ITU-R BT.601, 8 bits", flat(YCbCr, 8, Colour{}, 65, 100, 212), on, off, off},
		{"white, 10 bits", flat(YCbCr, 10, bt709, 940, 512, 512), 255, 255, 255},
		{"black, 12 bits", flat(YCbCr, 12, bt709, 256, 2048, 2048), 0, 0, 0},
		{"full range", flat(YCbCr, 8, Colour{Range: FullRange, Transfer: SRGB}, 77, 128, 128), 77, 77, 77},
		{"sRGB stays as it is", flat(RGB, 8, Colour{Transfer: SRGB}, 13, 130, 201), 13, 130, 201},
		{"sRGB, 16 bits", flat(RGB, 16, Colour{Transfer: SRGB}, 13*257, 130*257, 201*257), 13, 130, 201},
		{"grey is full range", flat(Grey, 8, Colour{Transfer: SRGB}, 99), 99, 99, 99},
		{"log stays as it is", flat(RGB, 10, Colour{Transfer: LogCurve}, 1023, 512, 0), 255, 128, 0},
		{"half the light", flat(RGB, 16, Colour{Transfer: Linear}, 32768, 32768, 32768), 188, 188, 188},
		// Report ITU-R BT.2408: reference white is 58 % in PQ and 75 % in HLG.
		{"PQ white", flat(RGB, 10, Colour{Transfer: PQ}, 594, 594, 594), 255, 255, 255},
		{"HLG white", flat(RGB, 10, Colour{Transfer: HLG}, 767, 767, 767), 255, 255, 255},
		{"neutral of wide primaries", flat(RGB, 8, Colour{Transfer: SRGB, Primaries: PrimariesBT2020}, 100, 100, 100), 100, 100, 100},
		{"green beyond the display", flat(RGB, 8, Colour{Transfer: Linear, Primaries: PrimariesP3}, 0, 255, 0), 0, 255, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			picture := tt.frame.Thumbnail(32)
			require.Equal(t, 18, picture.Bounds().Dy())
			c := picture.At(31, 17).(color.RGBA)
			require.InDelta(t, tt.r, int(c.R), 2, "red")
			require.InDelta(t, tt.g, int(c.G), 2, "green")
			require.InDelta(t, tt.b, int(c.B), 2, "blue")
			require.Equal(t, uint8(255), c.A)
		})
	}
}

func TestPictureKeepsPlacesAndShape(t *testing.T) {
	f := flat(Grey, 8, Colour{Transfer: SRGB}, 0)
	for y := range 18 {
		for x := range 16 {
			f.Planes[0].Row(y)[x] = 200
		}
	}
	grey := func(f *Frame, width, x, y int) uint8 { return f.Thumbnail(width).RGBAAt(x, y).R }
	require.Equal(t, uint8(200), grey(f, 16, 3, 3))
	require.Equal(t, uint8(100), grey(f, 16, 3, 4), "half lit")
	require.Equal(t, uint8(0), grey(f, 16, 4, 4))
	require.Equal(t, uint8(0), grey(f, 16, 3, 5))
	require.Equal(t, uint8(200), grey(f, 256, 63, 71), "larger than the frame")
	require.Equal(t, uint8(0), grey(f, 256, 64, 71))
	require.Equal(t, uint8(50), grey(f, 2, 0, 0), "a quarter lit")

	f.PixelAspect = 2
	require.Equal(t, 9, f.Thumbnail(32).Bounds().Dy(), "wide pixels")
	require.Equal(t, 1, flat(Grey, 8, Colour{}, 0).Thumbnail(1).Bounds().Dy(), "never without a row")
}
