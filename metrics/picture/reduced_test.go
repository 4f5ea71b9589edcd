package picture_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
)

func TestBoxes(t *testing.T) {
	for _, c := range []struct {
		width, height int
		aspect        float64
		nx, ny        int
	}{
		{1920, 1080, 1, 8, 8},
		{3840, 2160, 1, 16, 16},
		{2048, 858, 1, 8, 8},
		{4096, 2160, 1, 16, 16},
		{1440, 1080, 4.0 / 3, 8, 8},
		{1920, 1080, 2, 8, 16},
		{1280, 720, 1, 5, 5},
		{720, 576, 16.0 / 15, 3, 3},
		{960, 1080, 2, 4, 8},
		{64, 36, 1, 1, 1},
		{1440, 3, 1, 8, 3},
		{1, 1, 1, 1, 1},
	} {
		nx, ny := picture.Boxes(c.width, c.height, c.aspect)
		require.Equal(t, [2]int{c.nx, c.ny}, [2]int{nx, ny}, "%d×%d", c.width, c.height)
	}
}

// plane is one whose sample at (x, y) is at(x, y).
func plane(width, height int, at func(x, y int) int) picture.Plane {
	p := picture.Plane{Width: width, Height: height, Stride: width, Pix: make([]uint16, width*height)}
	for y := range height {
		for x := range width {
			p.Row(y)[x] = uint16(at(x, y))
		}
	}
	return p
}

func TestReduce(t *testing.T) {
	const width, height = 1927, 31
	ramp := plane(width, height, func(x, y int) int { return x/2 + y })
	half := plane(width/2, height, func(x, y int) int { return 512 })
	f := &picture.Frame{
		Layout: picture.YCbCr, Depth: 10, Index: 7, PixelAspect: 2,
		Planes: []picture.Plane{ramp, half, half},
		Colour: picture.Colour{Transfer: picture.HLG},
	}
	r := picture.Reduce(f)
	require.Equal(t, [4]int{8, 16, width, height}, [4]int{r.BoxWidth, r.BoxHeight, r.FullWidth, r.FullHeight})
	require.Equal(t, [2]int{240, 1}, [2]int{r.Frame.Width(), r.Frame.Height()}, "whole boxes alone")
	require.Equal(t, picture.Grey, r.Frame.Layout)
	require.Equal(t, 7, r.Frame.Index)
	require.Equal(t, 1.0, r.Frame.Aspect(), "the boxes are square")
	require.Equal(t, picture.HLG, r.Frame.Colour.Transfer)
	for x := range 240 {
		// x/2 is rounded down, which makes the mean of eight a quarter less.
		mean := float64(8*x)/2 + 7.0/4 - 0.25 + 15.0/2
		require.InDelta(t, 64*mean, r.Frame.Planes[0].Row(0)[x], 0.5)
	}
	// The signals of black and white are where they were.
	was, is := f.Signal(), r.Frame.Signal()
	require.Equal(t, 64*was.Black, is.Black)
	require.Equal(t, 64*was.White, is.White)
	require.Equal(t, [2]int{1927, 2}, [2]int{ramp.Width, len(r.Frame.Planes) + 1}, "the frame is as it was")
}

func TestReduceOfRGBIsLuma(t *testing.T) {
	f := &picture.Frame{Layout: picture.RGB, Depth: 8, Colour: picture.Colour{Matrix: picture.BT709}}
	for _, code := range []int{200, 100, 50} {
		f.Planes = append(f.Planes, plane(500, 20, func(x, y int) int { return code }))
	}
	r := picture.Reduce(f)
	require.Equal(t, [2]int{250, 10}, [2]int{r.Frame.Width(), r.Frame.Height()})
	require.InDelta(t, 256*(0.2126*200+0.7152*100+0.0722*50), r.Frame.Planes[0].Row(3)[3], 1)
	require.Zero(t, r.Frame.Signal().Black, "full range, as is usual for RGB")
}

// The cells of a signature part the picture evenly, whatever its size: of a ramp each is the
// value at its centre, and their mean is that of the picture.
func TestSignatureCoversThePicture(t *testing.T) {
	for _, size := range [][2]int{{1920, 1080}, {1998, 1080}, {1280, 720}, {640, 360}, {64, 36}} {
		width, height := size[0], size[1]
		f := &picture.Frame{Depth: 12, Planes: []picture.Plane{plane(width, height, func(x, y int) int { return x + y })}}
		r := picture.Reduce(f)
		s := r.Signature()
		covered := [2]float64{float64(width / r.BoxWidth * r.BoxWidth), float64(height / r.BoxHeight * r.BoxHeight)}
		for j := range picture.SignatureHeight {
			for i := range picture.SignatureWidth {
				x := (float64(i) + 0.5) * covered[0] / picture.SignatureWidth
				y := (float64(j) + 0.5) * covered[1] / picture.SignatureHeight
				// A pixel's share counts with its mean, an eighth of its width and height off at most.
				off := float64(r.BoxWidth+r.BoxHeight) / 8
				require.InDelta(t, x+y-1, 16*s.Luma[j][i], off+0.1, "%v: cell %d, %d", size, i, j)
			}
		}
	}
	small := &picture.Frame{Depth: 8, Planes: []picture.Plane{plane(8, 4, func(x, y int) int { return 10 * (x + 8*y) })}}
	require.InDelta(t, 10*(5+8*2), small.Signature().Luma[22][43], 1e-4, "enlarged")
}
