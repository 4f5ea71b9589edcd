package nearest

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestNearest(t *testing.T) {
	names := []string{"vertical_offset", "roll", "zoom", "exposure", "lens_lag"}
	for word, want := range map[string]string{
		"rol": "roll", "Rolll": "roll", "zomo": "zoom", "exposrue": "exposure", "vertical": "vertical_offset", "lag": "lens_lag",
		"softness": "", "": "",
	} {
		require.Equal(t, want, Name(word, names), "%q", word)
	}
	// By hand.
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"a", "", 1}, {"kitten", "sitting", 3}, {"schärfe", "scharfe", 1}, {"ab", "ba", 2}} {
		require.Equal(t, c.want, levenshtein(c.a, c.b))
		require.Equal(t, c.want, levenshtein(c.b, c.a))
	}
}
