package decode

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// packingMessage writes a frame packing arrangement as ITU-T H.264 D.1.26 lays
// it out: id ue(v), cancel 1, type 7, quincunx 1, interpretation 6, spatial
// flipping 1, frame 0 flipped 1, then flags that do not matter here.
func packingMessage(arrangement, interpretation, flipping, first int) []byte {
	var out []byte
	at := 0
	write := func(v, n int) {
		for i := n - 1; i >= 0; i-- {
			if at%8 == 0 {
				out = append(out, 0)
			}
			out[at/8] |= byte(v>>i&1) << (7 - at%8)
			at++
		}
	}
	write(1, 1) // id 0
	write(0, 1)
	write(arrangement, 7)
	write(0, 1)
	write(interpretation, 6)
	write(flipping, 1)
	write(first, 1)
	write(0, 16)
	return out
}

func TestMirroredView(t *testing.T) {
	for _, c := range []struct {
		name                  string
		kind, flipping, first int
		want                  int
	}{
		{"side by side, none", 3, 0, 0, 0},
		{"side by side, first", 3, 1, 1, 1},
		{"side by side, second", 3, 1, 0, 2},
		{"top and bottom, second", 4, 1, 0, 2},
		{"frame alternate says nothing", 5, 1, 1, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			message := packingMessage(c.kind, 1, c.flipping, c.first)
			// A message of another kind and 300 bytes stands before it.
			sei := append([]byte{6, 5, 255, 45}, make([]byte, 300)...)
			for i := range sei[4:] {
				sei[4+i] = 0xAA
			}
			sei = append(append(sei, seiFramePacking, byte(len(message))), message...)
			sei = append(sei, 0x80)
			slice := []byte{5, 0x88, 0x84}

			start := []byte{0, 0, 0, 1}
			annexB := append(append(append(append([]byte{}, start...), sei...), start...), slice...)
			require.Equal(t, c.want, mirroredView(annexB, nil))

			counted := append([]byte{0, 0, byte(len(sei) >> 8), byte(len(sei))}, sei...)
			counted = append(append(counted, 0, 0, 0, byte(len(slice))), slice...)
			require.Equal(t, c.want, mirroredView(counted, []byte{1, 100, 0, 40, 0xff, 0xe1}))
		})
	}
	require.Zero(t, mirroredView(nil, nil))
	require.Zero(t, mirroredView([]byte{0, 0, 1, 6, 45}, nil))
	require.Zero(t, mirroredView([]byte{0, 0, 1, 6, 45, 1, 0xff}, nil))
}

func TestUnescape(t *testing.T) {
	require.Equal(t, []byte{0, 0, 1, 0, 0, 0, 3}, unescape([]byte{0, 0, 3, 1, 0, 0, 3, 0, 3}))
}

func FuzzMirroredView(f *testing.F) {
	f.Add(append([]byte{0, 0, 1, 6, 45, 7}, packingMessage(3, 1, 1, 1)...), []byte{})
	f.Add([]byte{0, 0, 0, 4, 6, 45, 255, 255}, []byte{1, 0, 0, 0, 3})
	f.Fuzz(func(t *testing.T, picture, extradata []byte) {
		view := mirroredView(picture, extradata)
		require.GreaterOrEqual(t, view, 0)
		require.LessOrEqual(t, view, 2)
	})
}
