package takes

import (
	"math"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// drawnDays is how many days are drawn for each case by what files say, and shownDays by what
// they show.
func drawnDays() int {
	if os.Getenv("NIGHTPAIR_ACCURACY") != "" {
		return 400
	}
	return 12
}

func shownDays() int {
	if os.Getenv("NIGHTPAIR_ACCURACY") != "" {
		return 25
	}
	return 2
}

// made returns the share of the pairs of some days that are made. None may be wrong.
func made(t *testing.T, days int, score func(seed uint64) (there, right, wrong int)) float64 {
	t.Helper()
	there, right := 0, 0
	for seed := range uint64(days) {
		n, r, wrong := score(seed)
		require.Zero(t, wrong, "day %d", seed)
		there, right = there+n, right+r
	}
	share := float64(right) / float64(there)
	t.Logf("%.1f %% of %d pairs", 100*share, there)
	return share
}

func TestDrawnDays(t *testing.T) {
	for _, c := range []struct {
		name string
		tags tags
		made float64 // least share of the pairs
	}{
		{"timecode", tags{timecode: true}, 0.98},
		{"creation time", tags{created: true}, 0.98},
		{"both", tags{timecode: true, created: true}, 0.98},
		// A step that only few takes bear out leaves those open.
		{"a clock that steps", tags{created: true, step: true}, 0.85},
		{"lengths alone", tags{}, 0}, // next to none
	} {
		t.Run(c.name, func(t *testing.T) {
			share := made(t, drawnDays(), func(seed uint64) (there, right, wrong int) {
				d := draw(seed, c.tags)
				return d.score(Align(d.left, d.right, nil))
			})
			require.GreaterOrEqual(t, share, c.made)
		})
	}
}

func TestDrawnDaysByWhatIsShown(t *testing.T) {
	for _, c := range []struct {
		name            string
		pictures, sound bool
		made            float64
	}{
		{"pictures", true, false, 0.90},
		{"sound", false, true, 0.98},
		{"both", true, true, 0.98},
	} {
		if c.pictures && c.sound && os.Getenv("NIGHTPAIR_ACCURACY") == "" {
			continue // either alone is harder
		}
		t.Run(c.name, func(t *testing.T) {
			share := made(t, shownDays(), func(seed uint64) (there, right, wrong int) {
				d := draw(seed, tags{})
				ls, rs := d.shown(seed, c.pictures, c.sound)
				evidence := make([][]float64, len(ls))
				for i, l := range ls {
					for _, r := range rs {
						evidence[i] = append(evidence[i], Compare(l, r).Evidence)
					}
				}
				return d.score(Align(d.left, d.right, func(i, j int) float64 { return evidence[i][j] }))
			})
			require.GreaterOrEqual(t, share, c.made)
		})
	}
}

// A hurried day leaves more open, and pairs nothing wrongly.
func TestHurriedDays(t *testing.T) {
	for _, c := range []struct {
		tags tags
		made float64
	}{{tags{timecode: true}, 0.8}, {tags{created: true}, 0.4}} {
		share := made(t, 2*drawnDays(), func(seed uint64) (there, right, wrong int) {
			d := drawHurried(seed, c.tags)
			return d.score(Align(d.left, d.right, nil))
		})
		require.GreaterOrEqual(t, share, c.made)
	}
}

// The takes of two cameras that were never at one place are no pairs.
func TestStrangers(t *testing.T) {
	for _, tags := range []tags{{timecode: true}, {created: true}, {}} {
		for seed := range uint64(drawnDays() / 4) {
			left, right := draw(seed, tags).left, draw(seed+1000, tags).right
			a := Align(left, right, nil)
			for i := range left {
				_, sure := a.Pair(i)
				require.False(t, sure, "day %d, take %d", seed, i)
			}
		}
	}
}

// Takes of equal length at an even pace, without anything else, are open; so are they where
// the clocks are known but for a multiple of the pace.
func TestWhatDegeneratesIsOpen(t *testing.T) {
	row := func(n int, created bool, by float64) []Take {
		var takes []Take
		for i := range n {
			t := Take{Timecode: math.NaN(), Created: math.NaN(), Length: 30}
			if created {
				t.Created = by + 60*float64(i)
			}
			takes = append(takes, t)
		}
		return takes
	}
	for _, c := range []struct {
		name        string
		left, right []Take
	}{
		{"as many on both sides", row(8, false, 0), row(8, false, 0)},
		{"one less on the right", row(8, false, 0), row(7, false, 0)},
		{"clocks that were never set", row(8, true, 0), row(8, true, 47*60+13)},
		{"one take and nothing else", row(1, false, 0), row(1, false, 0)},
		{"one take by clocks hours apart", row(1, true, 0), row(1, true, 4321)},
	} {
		for i := range c.left {
			_, sure := Align(c.left, c.right, nil).Pair(i)
			require.False(t, sure, "%s: %d", c.name, i)
		}
	}
	// One take each with clocks that were set is a pair.
	choice, sure := Align(row(1, true, 0), row(1, true, 1), nil).Pair(0)
	require.True(t, sure)
	require.Equal(t, Created, choice.Clock)
	require.InDelta(t, 1, choice.Apart, 1)
	// Nothing on either side is no reason to fail.
	require.Empty(t, Align(nil, row(3, true, 0), nil).Choices)
	require.Len(t, Align(row(3, true, 0), nil, nil).Choices, 3)
}

// Timecode that runs only while recording overlaps with the wrong takes.
func TestTimecodeThatIsNoClock(t *testing.T) {
	var left, right []Take
	l, r := 3600.0, 3600.0
	for i := range 10 {
		length := 20 + 13*float64(i*i%7)
		left = append(left, Take{Timecode: l, Created: 100 * float64(i*i), Length: length})
		l += length
		if i == 4 {
			continue // the right camera did not roll
		}
		right = append(right, Take{Timecode: r, Created: 100*float64(i*i) + 2, Length: length + 1})
		r += length + 1
	}
	a := Align(left, right, nil)
	for i := range left {
		c, ok := a.Pair(i)
		want := i
		if i > 4 {
			want--
		}
		require.Equal(t, i != 4, ok, i)
		if ok {
			require.Equal(t, want, c.Right)
			require.Equal(t, Created, c.Clock)
		}
	}
}

// A thousand takes on either side are aligned in seconds.
func TestManyTakes(t *testing.T) {
	var left, right []Take
	at := 0.0
	for i := range 1000 {
		length := 20 + float64(i*i%97)
		left = append(left, Take{Timecode: math.NaN(), Created: at, Length: length})
		right = append(right, Take{Timecode: math.NaN(), Created: at + 5000 + float64(i%15), Length: length - float64(i%7)})
		at += length + 20 + float64(i*i%53)
	}
	began := time.Now()
	a := Align(left, right, nil)
	t.Log(time.Since(began))
	require.Less(t, time.Since(began), 10*time.Second)
	for i := range left {
		c, ok := a.Pair(i)
		require.True(t, ok, i)
		require.Equal(t, i, c.Right)
	}
}
