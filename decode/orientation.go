package decode

import (
	"encoding/binary"
	"fmt"

	"nightpair/metrics/picture"
)

// orientation reads a display matrix as FFmpeg hands it over: nine 32-bit
// integers in the machine's byte order, rows a b u, c d v, x y w, of which a to
// d turn the picture (ISO/IEC 14496-12, 8.2.2). What is no flip and no half
// turn comes back as trouble; the picture is then taken as upright.
func orientation(matrix []byte) (o picture.Orientation, trouble string) {
	if len(matrix) < 36 {
		return picture.Upright, ""
	}
	at := func(i int) int32 { return int32(binary.NativeEndian.Uint32(matrix[4*i:])) }
	a, b, c, d := at(0), at(1), at(3), at(4)
	switch {
	case b == 0 && c == 0 && a > 0 && d > 0:
		return picture.Upright, ""
	case b == 0 && c == 0 && a < 0 && d > 0:
		return picture.Flop, ""
	case b == 0 && c == 0 && a > 0 && d < 0:
		return picture.Flip, ""
	case b == 0 && c == 0 && a < 0 && d < 0:
		return picture.Turn, ""
	case a == 0 && d == 0 && b != 0 && c != 0:
		return picture.Upright, "the container asks for a quarter turn, which is left undone"
	}
	return picture.Upright, fmt.Sprintf("the container asks for an odd transform (%d %d %d %d), which is left undone", a, b, c, d)
}
