package prores

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzRead reads whatever comes. It may be an error; otherwise the means are as many
// as the grid wants, and such as a picture may have, in memory that is in proportion
// to the packet.
func FuzzRead(f *testing.F) {
	for _, args := range [][]string{
		{"-profile:v", "proxy", "-pix_fmt", "yuv422p10le"},
		{"-profile:v", "hq", "-pix_fmt", "yuv422p10le", "-flags", "+ildct"},
		{"-profile:v", "4444", "-pix_fmt", "yuva444p10le"},
	} {
		packet := encoded(f, "alpha", 80, 36, 1, append([]string{"-c:v", "prores_ks"}, args...)...).packets[0]
		f.Add(packet, true)
		f.Add(packet[:len(packet)/2], false)
		for _, at := range []int{0, 3, 8, 9, 11, 17, 19, 20, 27, 28, 92, 156, 157, 160, 163, 164, 166, len(packet) / 2, len(packet) - 40} {
			for _, to := range []byte{0, 0xff, packet[at] ^ 0x10} {
				b := append([]byte{}, packet...)
				b[at] = to
				f.Add(b, at%2 == 0)
			}
		}
	}
	// A frame of the largest size, of which nothing is there.
	f.Add([]byte("\x00\x00\x00\x24icpf\x00\x14\x00\x01none\xff\xff\xff\xff\x80\x00\x00\x00\x00\x00\x00\x00\x40\x00\x00\x00\x08\x00\x00\x30"), true)
	f.Fuzz(func(t *testing.T, packet []byte, chroma bool) {
		var p Picture
		err := p.Read(packet, chroma)
		// A slice of at least six bytes and two in the table are 8 macroblocks, with 4
		// blocks of each plane at maxBlocks.
		maxBlocks := len(packet) / 8 * maxSliceBlocks
		for _, plane := range []*ReducedPlane{&p.Luma, &p.Cb, &p.Cr} {
			require.LessOrEqual(t, cap(plane.Means), maxBlocks)
			if err != nil {
				continue
			}
			require.Len(t, plane.Means, plane.Columns*plane.Rows)
			require.LessOrEqual(t, plane.WholeColumns, plane.Columns)
			require.LessOrEqual(t, plane.WholeRows, plane.Rows)
			for _, v := range plane.Means {
				require.False(t, math.IsNaN(float64(v)) || v < 0 || v > allWhite)
			}
		}
	})
}
