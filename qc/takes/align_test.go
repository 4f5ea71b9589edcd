package takes

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// days is how many days are drawn for each case.
const days = 40

func TestDrawnDays(t *testing.T) {
	for _, c := range []struct {
		name string
		tags tags
		made float64 // least share of the pairs
	}{
		{"timecode", tags{timecode: true}, 0.98},
		{"creation time", tags{created: true}, 0.98},
		{"both", tags{timecode: true, created: true}, 0.98},
		{"a clock that steps", tags{created: true, step: true}, 0.95},
		{"lengths alone", tags{}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			there, right := 0, 0
			for seed := range uint64(days) {
				d := draw(seed, c.tags)
				n, r, wrong := d.score(Align(d.left, d.right, nil))
				require.Zero(t, wrong, "day %d", seed)
				there, right = there+n, right+r
			}
			share := float64(right) / float64(there)
			t.Logf("%.1f %% of %d pairs", 100*share, there)
			require.GreaterOrEqual(t, share, c.made)
		})
	}
}
