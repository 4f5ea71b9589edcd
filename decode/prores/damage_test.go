package prores

import (
	"encoding/binary"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// What a header or a slice says that cannot be is an error, by the place that says it.
func TestDamageIsAnError(t *testing.T) {
	progressive := encoded(t, "street", 320, 176, 1, "-c:v", "prores_ks", "-profile:v", "hq", "-pix_fmt", "yuv422p10le").packets[0]
	interlaced := encoded(t, "street", 320, 176, 1, "-c:v", "prores_ks", "-profile:v", "hq", "-pix_fmt", "yuv422p10le", "-flags", "+ildct").packets[0]
	const (
		frame = containerSize // header
		pic   = frame + headerSize + 2*matrixSize
		table = pic + pictureMinSize
	)
	put16 := binary.BigEndian.PutUint16
	slice := func(b []byte) []byte { return slicesOf(t, b)[5] }
	for _, c := range []struct {
		name   string
		want   error
		damage func(b []byte) []byte
	}{
		{"empty", errShort, func(b []byte) []byte { return nil }},
		{"identifier alone", errShort, func(b []byte) []byte { return b[:8] }},
		{"another codec", errNotProRes, func(b []byte) []byte { b[5] = 'x'; return b }},
		{"cut", errShort, func(b []byte) []byte { return b[:len(b)-1] }},
		{"frame size of nothing", errHeaderSize, func(b []byte) []byte { clear(b[:4]); return b }},
		{"frame size too small", errShort, func(b []byte) []byte { binary.BigEndian.PutUint32(b, uint32(len(b)/2)); return b }},
		{"frame header too small", errHeaderSize, func(b []byte) []byte { put16(b[frame:], 19); return b }},
		{"frame header too large", errHeaderSize, func(b []byte) []byte { put16(b[frame:], 65535); return b }},
		{"no room for the matrices", errHeaderSize, func(b []byte) []byte { put16(b[frame:], headerSize+100); return b }},
		{"weight 0", errWeight, func(b []byte) []byte { b[frame+headerSize] = 0; return b }},
		{"weight 64", errWeight, func(b []byte) []byte { b[frame+headerSize+matrixSize] = 64; return b }},
		{"version", errVersion, func(b []byte) []byte { b[frame+3] = 2; return b }},
		{"chroma format", errReserved, func(b []byte) []byte { b[frame+12] &= 0x7f; return b }},
		{"mode of interlacing", errReserved, func(b []byte) []byte { b[frame+12] |= 0x0c; return b }},
		{"no width", errNoPixels, func(b []byte) []byte { put16(b[frame+8:], 0); return b }},
		{"no height", errNoPixels, func(b []byte) []byte { put16(b[frame+10:], 0); return b }},
		{"too wide", errSizes, func(b []byte) []byte { put16(b[frame+8:], 65535); return b }},
		{"too high", errSizes, func(b []byte) []byte { put16(b[frame+10:], 65535); return b }},
		{"too narrow", errSizes, func(b []byte) []byte { put16(b[frame+8:], 160); return b }},
		{"one field of two", errShort, func(b []byte) []byte { b[frame+12] |= 4; put16(b[frame+10:], 352); return b }},
		{"picture header too small", errHeaderSize, func(b []byte) []byte { b[pic] = 7 << 3; return b }},
		{"picture too large", errShort, func(b []byte) []byte { b[pic+1] = 1; return b }},
		{"picture too small", errSizes, func(b []byte) []byte { binary.BigEndian.PutUint32(b[pic+1:], 12); return b }},
		{"longer slices", errSizes, func(b []byte) []byte { b[pic+7] = 0; return b }},
		{"size of a slice", errSizes, func(b []byte) []byte { b[table+3]++; return b }},
		{"slice of no size", errSizes, func(b []byte) []byte { put16(b[table:], 0); return b }},
		{"border between slices", errPlaneSizes, func(b []byte) []byte {
			put16(b[table:], binary.BigEndian.Uint16(b[table:])-60)
			put16(b[table+2:], binary.BigEndian.Uint16(b[table+2:])+60)
			return b
		}},
		{"rest", errRest, func(b []byte) []byte {
			b = append(b, 0, 0, 1)
			binary.BigEndian.PutUint32(b, uint32(len(b)))
			return b
		}},
		{"slice header too small", errHeaderSize, func(b []byte) []byte { slice(b)[0] = 5 << 3; return b }},
		{"slice header too large", errHeaderSize, func(b []byte) []byte {
			// The slice is made as short as a slice header may be, at the cost of the last one.
			list := slicesOf(t, b)
			last := len(list) - 1
			put16(b[table+2*last-2:], uint16(len(list[last-1])+len(list[last])-8))
			put16(b[table+2*last:], 8)
			list[last][len(list[last])-8] = 31 << 3
			return b
		}},
		{"quantiser 0", errQuantiser, func(b []byte) []byte { slice(b)[1] = 0; return b }},
		{"quantiser 225", errQuantiser, func(b []byte) []byte { slice(b)[1] = 225; return b }},
		{"luma beyond the slice", errPlaneSizes, func(b []byte) []byte { put16(slice(b)[2:], 60000); return b }},
		{"luma of no size", errCode, func(b []byte) []byte { put16(slice(b)[2:], 0); return b }},
		{"zeros", errCode, func(b []byte) []byte { clear(slice(b)[6:12]); return b }},
		{"a mean far beyond white", errRange, func(b []byte) []byte { slice(b)[6] = 1; slice(b)[7] = 0xff; return b }},
		{"zeros in the last plane", errCode, func(b []byte) []byte {
			s := slice(b)
			clear(s[6+int(binary.BigEndian.Uint16(s[2:]))+int(binary.BigEndian.Uint16(s[4:])):])
			return b
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var p Picture
			err := p.Read(c.damage(slices.Clone(progressive)), true)
			require.ErrorIs(t, err, c.want)
		})
	}
	var p Picture
	require.NoError(t, p.Read(progressive, true), "undamaged")
	require.NoError(t, p.Read(append(slices.Clone(progressive), 7), true), "after the frame")
	padded := append(slices.Clone(progressive), 0, 0)
	binary.BigEndian.PutUint32(padded, uint32(len(padded)))
	require.NoError(t, p.Read(padded, true), "zeros within the frame")
	require.NoError(t, p.Read(interlaced, true))

	// The second field counts as much.
	b := slices.Clone(interlaced)
	list := slicesOf(t, b)
	list[len(list)-1][1] = 0
	require.ErrorIs(t, p.Read(b, false), errQuantiser)
	// 33 lines are one row of macroblocks more in one field than in the other.
	put16(b[frame+10:], 33)
	require.ErrorIs(t, p.Read(b, false), errFields)
}

// Coefficients that end early are an error, wherever: where a code should begin, or
// within one.
func TestCutCoefficients(t *testing.T) {
	data := []byte{0b10000010, 0b01000000} // 0 and a difference of -1, in 6 and 4 bits
	dc := make([]int32, 2)
	require.NoError(t, readDC(data, dc))
	require.Equal(t, []int32{0, -1}, dc)
	require.ErrorIs(t, readDC(data[:1], dc), errOverrun)
	require.ErrorIs(t, readDC(data[:0], dc), errCode)
	require.ErrorIs(t, readDC(data, make([]int32, 3)), errCode)
}

// A lost sector of 4096 bytes, zeros or the same bytes as elsewhere on the disk, never
// goes unseen: slices are shorter than that.
func TestLostSectorsAreSeen(t *testing.T) {
	const sector = 4096
	for _, profile := range []string{"proxy", "hq"} {
		packet := encoded(t, "street", 1280, 720, 1, "-c:v", "prores_ks", "-profile:v", profile, "-pix_fmt", "yuv422p10le").packets[0]
		var p Picture
		require.NoError(t, p.Read(packet, false))
		require.Greater(t, len(packet), 10*sector)
		for at := sector; at+sector <= len(packet); at += sector {
			zeros := slices.Clone(packet)
			clear(zeros[at:][:sector])
			require.Error(t, p.Read(zeros, false), "zeros at %d", at)
			elsewhere := slices.Clone(packet)
			copy(elsewhere[at:][:sector], packet[(at+len(packet)/2)%(len(packet)-sector):])
			require.Error(t, p.Read(elsewhere, false), "other bytes at %d", at)
		}
	}
}
