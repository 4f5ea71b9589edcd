package decode

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// group is an open group of pictures as in ITU-T H.264: I0 P3 B1 B2 | I6 B4 B5
// P9 B7 B8, named by presentation time and listed in file order.
func group() []packet {
	var out []packet
	for i, pts := range []int64{0, 3, 1, 2, 6, 4, 5, 9, 7, 8} {
		out = append(out, packet{pts: pts, dts: int64(i) - 1, key: pts == 0 || pts == 6})
	}
	return out
}

func TestTableOrdersByTime(t *testing.T) {
	table := byTime(group())
	require.Equal(t, []int{0, 2, 3, 1, 5, 6, 4, 8, 9, 7}, table.order)
	require.Equal(t, []int{0, 3, 1, 2, 6, 4, 5, 9, 7, 8}, table.index)
	require.True(t, table.timed())
	require.True(t, table.reorders())
	require.False(t, table.allKey())
}

func TestTableStartsBeforeLeadingPictures(t *testing.T) {
	table := byTime(group())
	for frame, want := range []int{0, 0, 0, 0, 0, 0, 4, 4, 4, 4} {
		require.Equal(t, want, table.startFor(frame), "frame %d", frame)
	}
	require.Equal(t, 0, table.startBefore(4))
}

func TestTableOfCutFile(t *testing.T) {
	table := byTime(group()[4:]) // I6 B4 B5 P9 B7 B8
	key, frames := table.leading()
	require.Equal(t, [2]int{0, 2}, [2]int{key, frames})
	table.startAt(0, 2)
	require.Equal(t, []int{0, 4, 5, 3}, table.order)
	require.Equal(t, []int{0, -1, -1, 3, 1, 2}, table.index)

	table = byTime(group()[2:]) // B1 B2 I6 B4 B5 P9 B7 B8
	key, frames = table.leading()
	require.Equal(t, [2]int{2, 4}, [2]int{key, frames})
	table.startAt(2, 4)
	require.Equal(t, []int{2, 6, 7, 5}, table.order)
	require.Equal(t, 2, table.startFor(3))
	require.Equal(t, 2, table.startBefore(2))
}

func TestTableLeavesOutWhatAnEditListHides(t *testing.T) {
	packets := group()
	packets[0].discard, packets[2].discard = true, true
	table := byTime(packets)
	require.Len(t, table.order, 8)
	require.Equal(t, -1, table.index[0])
	require.Equal(t, 0, table.index[3])
	require.Equal(t, 0, table.startFor(0))
	key, frames := table.leading()
	require.Equal(t, [2]int{0, 0}, [2]int{key, frames})
}

func TestTableWithoutTimes(t *testing.T) {
	packets := group()
	packets[3].pts = noTime
	require.False(t, byTime(packets).timed())
	packets = group()
	packets[3].pts = packets[2].pts
	require.False(t, byTime(packets).timed())
}
