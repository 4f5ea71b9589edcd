package timing_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
	"nightpair/metrics/synth"
	"nightpair/metrics/timing"
)

func cutsOf(s signed, slip int) []int {
	return timing.Cuts(s.left, s.right, func(int) int { return slip })
}

// The trailer cuts at the frames that FFmpeg's scene filter finds from a score of
// 0.15 on (select='gt(scene,0.15)', libavfilter 5.1), but for the one at its second
// frame, before which there is no shot to compare. The others are of one shot each.
func TestCutsOfRealMovingPictures(t *testing.T) {
	require.Equal(t, []int{98, 154, 200}, cutsOf(realEyes(t, cartoon), 0))
	require.Empty(t, cutsOf(realEyes(t, pedestrians), 0))
	require.Empty(t, cutsOf(realEyes(t, handHeld), 0))
}

func TestCutsOfDrawnScenes(t *testing.T) {
	crowd, street := drawnScene(t, "crowd"), realEyes(t, pedestrians)
	require.Empty(t, cutsOf(crowd, 0))
	if synth.LongSweeps() {
		for _, s := range synth.Scenes {
			require.Empty(t, cutsOf(drawnScene(t, s.Name), 0), s.Name)
		}
	}
	join := func(parts ...[]*picture.Signature) []*picture.Signature { return slices.Concat(parts...) }
	reel := signed{
		left:  join(crowd.left[50:90], street.left[100:130], crowd.left[200:240]),
		right: join(crowd.right[47:90], street.right[100:130], crowd.right[200:240]),
	}
	require.Equal(t, []int{40, 70}, cutsOf(reel, 3), "the right eye three frames late")
	require.Empty(t, cutsOf(reel, 9), "the eyes do not cut at once")

	black := &picture.Signature{}
	flash := signed{
		left:  join(crowd.left[:30], street.left[:1], crowd.left[31:60], []*picture.Signature{black, black}, crowd.left[62:90]),
		right: join(crowd.right[:30], street.right[:1], crowd.right[31:60], []*picture.Signature{black, black}, crowd.right[62:90]),
	}
	require.Empty(t, cutsOf(flash, 0), "a flash and two black frames")
	require.Empty(t, cutsOf(signed{reel.left, crowd.right[50:160]}, 0), "in one eye alone")

	gap := signed{slices.Clone(reel.left), reel.right}
	gap.left[39] = nil
	require.Equal(t, []int{70}, cutsOf(gap, 3), "a frame at the other cut was not read")
	require.Empty(t, cutsOf(signed{nil, nil}, 0))
}
