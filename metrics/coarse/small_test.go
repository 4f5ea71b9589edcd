package coarse

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
)

// Columns and rows that fill no box belong to the picture: its centre is the frame's, turned
// or not, and a frame that is small already is left as it is.
func TestPlaceOfSmallPictures(t *testing.T) {
	const width, height = 1998, 1078
	f := &picture.Frame{Depth: 10, PixelAspect: 1, Planes: []picture.Plane{{Width: width, Height: height, Stride: width, Pix: make([]uint16, width*height)}}}
	s := Reduce(f)
	require.Equal(t, [2]int{249, 134}, [2]int{s.Width, s.Height})
	require.InDelta(t, 8.0/height, s.sx, 1e-12)
	require.InDelta(t, 8.0/height, s.sy, 1e-12)
	// Pixel i of 8 × 8 is centred on column 8i + 3.5, the frame on 998.5 and 538.5.
	require.InDelta(t, (998.5-3.5)/8, s.cx, 1e-12)
	require.InDelta(t, (538.5-3.5)/8, s.cy, 1e-12)
	turned := s.Oriented(picture.Turn)
	require.InDelta(t, 248-s.cx, turned.cx, 1e-12)
	require.InDelta(t, 133-s.cy, turned.cy, 1e-12)
	require.InDelta(t, s.cx, s.Oriented(picture.Flip).cx, 1e-12)

	small := Reduce(picture.Reduce(f).Frame)
	require.Equal(t, s.Pix, small.Pix)
}
