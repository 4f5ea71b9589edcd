package decode

import "bytes"

// The parts of ITU-T H.264 that say which of two packed views is stored
// flipped. FFmpeg reads the rest of the message and leaves this out.
const (
	nalSEI              = 6  // 7.4.1, Table 7-1
	seiFramePacking     = 45 // D.1.1
	packingSideBySide   = 3  // Table D-8, frame_packing_arrangement_type
	packingTopAndBottom = 4
)

// mirroredView looks in a coded H.264 picture for a frame packing arrangement
// (D.2.26) whose spatial_flipping_flag is set, and tells which view is the
// flipped one: 1 for the first, 2 for the second, 0 where neither is. Extradata
// in the form of ISO/IEC 14496-15 says that NAL units come with their lengths.
func mirroredView(picture, extradata []byte) int {
	for _, nal := range nalUnits(picture, extradata) {
		if len(nal) < 2 || nal[0]&0x1f != nalSEI {
			continue
		}
		if view, found := flippedIn(unescape(nal[1:])); found {
			return view
		}
	}
	return 0
}

// saysPacking reports whether a coded H.264 picture, or what comes before it, holds a frame
// packing arrangement. See mirroredView for extradata.
func saysPacking(picture, extradata []byte) bool {
	for _, nal := range nalUnits(picture, extradata) {
		if len(nal) < 2 || nal[0]&0x1f != nalSEI {
			continue
		}
		if _, found := flippedIn(unescape(nal[1:])); found {
			return true
		}
	}
	return false
}

// nalUnits splits a coded picture.
func nalUnits(b, extradata []byte) [][]byte {
	var units [][]byte
	if len(extradata) > 4 && extradata[0] == 1 {
		size := int(extradata[4]&3) + 1
		for len(b) > size {
			n := 0
			for _, v := range b[:size] {
				n = n<<8 | int(v)
			}
			b = b[size:]
			if n > len(b) {
				break
			}
			units = append(units, b[:n])
			b = b[n:]
		}
		return units
	}
	start := []byte{0, 0, 1}
	for i := bytes.Index(b, start); i >= 0; {
		b = b[i+len(start):]
		i = bytes.Index(b, start)
		if i < 0 {
			units = append(units, b)
			break
		}
		units = append(units, b[:i])
	}
	return units
}

// unescape takes out the bytes 03 that keep start codes from appearing (7.3.1).
func unescape(b []byte) []byte {
	out := make([]byte, 0, len(b))
	zeros := 0
	for _, v := range b {
		if zeros >= 2 && v == 3 {
			zeros = 0
			continue
		}
		if v == 0 {
			zeros++
		} else {
			zeros = 0
		}
		out = append(out, v)
	}
	return out
}

// flippedIn reads the messages of one SEI unit.
func flippedIn(b []byte) (view int, found bool) {
	for len(b) >= 2 {
		kind, rest := seiNumber(b)
		size, rest := seiNumber(rest)
		if size > len(rest) {
			return 0, false
		}
		if kind == seiFramePacking {
			return flipped(bits{b: rest[:size]}), true
		}
		b = rest[size:]
	}
	return 0, false
}

// seiNumber reads a number written as a run of 255 and a last byte (7.3.2.3.1).
func seiNumber(b []byte) (n int, rest []byte) {
	for len(b) > 0 {
		v := b[0]
		b = b[1:]
		n += int(v)
		if v != 255 {
			break
		}
	}
	return n, b
}

// flipped reads a frame packing arrangement as far as the two flags.
func flipped(b bits) int {
	b.golomb() // frame_packing_arrangement_id
	if b.read(1) == 1 {
		return 0 // cancelled
	}
	arrangement := b.read(7)
	b.read(1 + 6) // quincunx_sampling_flag, content_interpretation_type
	flipping, first := b.read(1), b.read(1)
	switch {
	case b.short, flipping == 0, arrangement != packingSideBySide && arrangement != packingTopAndBottom:
		return 0
	case first == 1:
		return 1
	}
	return 2
}

// bits reads a bit string from its most significant end. Past the end it reads
// zeros and sets short.
type bits struct {
	b     []byte
	at    int
	short bool
}

func (r *bits) read(n int) int {
	v := 0
	for range n {
		v <<= 1
		if r.at/8 >= len(r.b) {
			r.short = true
			continue
		}
		v |= int(r.b[r.at/8]>>(7-r.at%8)) & 1
		r.at++
	}
	return v
}

// golomb reads an unsigned Exp-Golomb number (9.1).
func (r *bits) golomb() int {
	zeros := 0
	for r.read(1) == 0 {
		if zeros++; r.short || zeros > 31 {
			return 0
		}
	}
	return 1<<zeros - 1 + r.read(zeros)
}
