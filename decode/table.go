package decode

import (
	"cmp"
	"slices"
)

// noTime is FFmpeg's mark for a time stamp that is not known.
const noTime = -1 << 63

// packet is what the container says of one coded picture, in the order of the
// file, which is the order of decoding.
type packet struct {
	pts, dts int64 // in ticks of the stream's time base, or noTime
	pos      int64 // byte position in the file, or -1
	size     int
	key      bool // decoding can start here
	discard  bool // decoded but not shown, as an edit list asks
	spare    bool // no other picture is predicted from it
	flawed   bool // the container says that bytes are missing
}

// stamp gives the time stamp that a seek goes by.
func (p packet) stamp() int64 {
	if p.dts != noTime {
		return p.dts
	}
	return p.pts
}

// table maps packets to frame numbers and back.
type table struct {
	packets []packet
	order   []int // packet of each frame, frames in order of presentation
	index   []int // frame of each packet, -1 where it gives none
	first   int   // packet from which decoding starts at the earliest
}

// byTime orders the shown packets by presentation time. Packets of equal time
// keep the order of the file.
func byTime(packets []packet) *table {
	t := &table{packets: packets}
	for i, p := range packets {
		if !p.discard {
			t.order = append(t.order, i)
		}
	}
	slices.SortStableFunc(t.order, func(a, b int) int { return cmp.Compare(packets[a].pts, packets[b].pts) })
	t.number()
	return t
}

// byOrder takes the frames in the order given, as a decoder put them out.
func byOrder(packets []packet, order []int) *table {
	t := &table{packets: packets, order: order}
	t.number()
	return t
}

func (t *table) number() {
	t.index = make([]int, len(t.packets))
	for i := range t.index {
		t.index[i] = -1
	}
	for frame, p := range t.order {
		t.index[p] = frame
	}
}

// timed says whether presentation times tell the frames apart.
func (t *table) timed() bool {
	for i, p := range t.order {
		if t.packets[p].pts == noTime || i > 0 && t.packets[p].pts == t.packets[t.order[i-1]].pts {
			return false
		}
	}
	return true
}

// reorders says whether the order of the file is not that of presentation.
func (t *table) reorders() bool { return !slices.IsSorted(t.order) }

// allKey says whether every picture can be decoded alone.
func (t *table) allKey() bool {
	return !slices.ContainsFunc(t.packets, func(p packet) bool { return !p.key })
}

// startFor gives the packet from which to decode in order to get a frame: the
// last key picture that precedes it both in the file and on screen. A picture
// that follows a key picture in the file but precedes it on screen (open group
// of pictures) needs what came before.
func (t *table) startFor(frame int) int {
	for k := t.order[frame]; k > t.first; k-- {
		if t.packets[k].key && t.index[k] >= 0 && t.index[k] <= frame {
			return k
		}
	}
	return t.first
}

// startBefore gives the last key picture before packet k, or the first packet.
func (t *table) startBefore(k int) int {
	for k--; k > t.first; k-- {
		if t.packets[k].key {
			return k
		}
	}
	return t.first
}

// leading finds the first key picture and counts the frames that are shown
// before it: the file was taken from a longer one and they may lack what they
// are predicted from.
func (t *table) leading() (key, frames int) {
	key = slices.IndexFunc(t.packets, func(p packet) bool { return p.key })
	switch {
	case key < 0:
		return 0, 0
	case t.index[key] >= 0:
		return key, t.index[key]
	}
	for _, p := range t.order { // the key picture is hidden by an edit list
		if p < key || t.packets[p].pts < t.packets[key].pts {
			frames++
		}
	}
	return key, frames
}

// startAt takes the first n frames out of the count and lets decoding begin at
// packet key.
func (t *table) startAt(key, n int) {
	t.first = key
	t.order = t.order[n:]
	t.number()
}
