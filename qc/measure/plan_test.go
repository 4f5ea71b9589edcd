package measure

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestPassesOfTheUsualPlan(t *testing.T) {
	require.Equal(t, [][]int{
		{45, 125, 205},
		{5, 85, 165},
		{25, 65, 105, 145, 185, 225},
		{15, 35, 55, 75, 95, 115, 135, 155, 175, 195, 215, 235},
	}, Plan{}.passes(240))
}

func TestPassesOfShortClips(t *testing.T) {
	require.Empty(t, Plan{}.passes(0))
	require.Empty(t, Plan{}.passes(-1))
	require.Equal(t, [][]int{{0}}, Plan{}.passes(1))
	require.Equal(t, [][]int{{0, 1, 2, 3, 4}}, Plan{}.passes(5))
	require.Equal(t, [][]int{{50}}, Plan{Samples: 1}.passes(100))
	require.Equal(t, [][]int{{25, 75}}, Plan{Samples: 2}.passes(100))
}

// What Passes promises, over every small combination and some long clips.
func TestPassesAreSpread(t *testing.T) {
	check := func(samples, frames int) {
		passes := Plan{Samples: samples}.passes(frames)
		var seen []int
		for i, pass := range passes {
			require.True(t, slices.IsSorted(pass), "pass %d ascends", i)
			require.NotEmpty(t, pass)
			seen = append(seen, pass...)
			requireSpread(t, seen, frames)
		}
		require.Len(t, seen, min(samples, frames))
		slices.Sort(seen)
		require.Len(t, slices.Compact(seen), min(samples, frames), "no frame twice")
		half := float64(frames) / float64(len(seen)) / 2
		require.InDelta(t, half, float64(seen[0])+0.5, 1, "the first moment lies half a step inside")
		require.InDelta(t, half, float64(frames-seen[len(seen)-1])-0.5, 1, "and so does the last")
	}
	for samples := 1; samples <= 50; samples++ {
		for frames := 1; frames <= 120; frames++ {
			check(samples, frames)
		}
		check(samples, 24*60*60+1)
	}
	check(1000, 172801)
}

// requireSpread requires that no stretch of the clip without a moment is
// longer than twice the even step, and a frame for rounding; stretches at the
// ends count double, because a moment stands for both its sides.
func requireSpread(t *testing.T, at []int, frames int) {
	t.Helper()
	at = slices.Sorted(slices.Values(at))
	require.GreaterOrEqual(t, at[0], 0)
	require.Less(t, at[len(at)-1], frames)
	limit := 2*float64(frames)/float64(len(at)) + 2
	require.LessOrEqual(t, float64(2*at[0]), limit, "%v of %d", at, frames)
	require.LessOrEqual(t, float64(2*(frames-1-at[len(at)-1])), limit, "%v of %d", at, frames)
	for i := 1; i < len(at); i++ {
		require.LessOrEqual(t, float64(at[i]-at[i-1]), limit, "%v of %d", at, frames)
	}
}
