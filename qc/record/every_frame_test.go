package record

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/coarse"
)

// The readings of every frame come in several lines, each with the frames that follow.
func TestEveryFrameInLines(t *testing.T) {
	some := func(first, n int) coarse.Series {
		s := coarse.Series{First: first}
		for range n {
			s.Add(coarse.Reading{Offset: 0.25, OffsetSE: 0.01, RollSE: 0.01, ZoomSE: 0.01, Exposure: 0.5, ExposureSE: 0.01, Blur: 1.5, BlurSE: 0.5, Places: 60})
		}
		return s
	}
	lines := func(all ...coarse.Series) string {
		var text bytes.Buffer
		require.NoError(t, WriteLine(&text, Header{EyeWidth: 1920, EyeHeight: 1080}))
		for _, s := range all {
			require.NoError(t, WriteLine(&text, EveryFrame{s}))
		}
		require.NoError(t, WriteLine(&text, Trailer{Done: true}))
		return text.String()
	}
	r, err := Read(strings.NewReader(lines(some(5, 3), some(8, 2))))
	require.NoError(t, err)
	require.Equal(t, 5, r.Every.First)
	require.Equal(t, 5, r.Every.Len())
	share, ok := r.Seen()
	require.True(t, ok)
	require.Equal(t, 1.0, share)
	var again bytes.Buffer
	_, err = r.WriteTo(&again)
	require.NoError(t, err)
	back, err := Read(&again)
	require.NoError(t, err)
	require.Equal(t, r.Every, back.Every)

	_, err = Read(strings.NewReader(lines(some(5, 3), some(9, 2))))
	require.ErrorContains(t, err, "frame 9 after frame 7")
	uneven := some(5, 3)
	uneven.Roll.SE = uneven.Roll.SE[:2]
	_, err = Read(strings.NewReader(lines(uneven)))
	require.ErrorContains(t, err, "different numbers of frames")

	r, err = Read(strings.NewReader(lines()))
	require.NoError(t, err)
	_, ok = r.Seen()
	require.False(t, ok)
}
