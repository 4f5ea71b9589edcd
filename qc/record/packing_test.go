package record

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/metrics/picture"
)

func TestParsePacking(t *testing.T) {
	for _, s := range []string{"side by side", "Side-by-Side", "SBS", "side_by_side"} {
		p, err := ParsePacking(s)
		require.NoError(t, err)
		require.Equal(t, SideBySide, p)
	}
	for _, s := range []string{"top and bottom", "TB", "top-bottom", "over-under"} {
		p, err := ParsePacking(s)
		require.NoError(t, err)
		require.Equal(t, TopBottom, p)
	}
	_, err := ParsePacking("diagonal")
	require.ErrorContains(t, err, `unknown packing "diagonal"`)
}

// Whatever is in the table serves every step that asks for packings.
func TestPackings(t *testing.T) {
	used := map[string]Packing{}
	for _, a := range Packings {
		for _, word := range append([]string{string(a.Name), strings.ReplaceAll(string(a.Name), " ", "-")}, a.Aliases...) {
			got, err := ParsePacking(word)
			require.NoError(t, err)
			require.Equal(t, a.Name, got, word)
		}
		for _, word := range append([]string{compact(string(a.Name))}, a.Aliases...) {
			require.Equal(t, compact(word), word, "as compact leaves it")
			require.NotContains(t, used, word)
			used[word] = a.Name
		}
		got, known := a.Name.Arrangement()
		require.True(t, known)
		require.Equal(t, a.Name, got.Name)
		require.Contains(t, PackingNames(" "), string(a.Name))
		if a.Tag != "" {
			require.Equal(t, a.Name, PackingTagged(a.Tag))
		}

		require.Equal(t, a.Split != nil, a.Name.OneFile(), a.Name)
		if a.Split == nil {
			continue
		}
		plane := picture.Plane{Pix: make([]uint16, 24*12), Width: 24, Height: 12, Stride: 24}
		first, second := a.Split(&picture.Frame{Depth: 8, Layout: picture.Grey, Planes: []picture.Plane{plane}})
		for _, eye := range []*picture.Frame{first, second} {
			require.Equal(t, 24/a.Across, eye.Width(), a.Name)
			require.Equal(t, 12/a.Down, eye.Height(), a.Name)
		}
		// Eyes squeezed into a picture of a usual shape get that shape back, and eyes
		// of such a shape keep it.
		for _, shape := range []float64{4.0 / 3, 16.0 / 9, 1.85} {
			require.InDelta(t, shape, shape*float64(a.Down)/float64(a.Across)*a.Widen(shape*float64(a.Down)/float64(a.Across)), 1e-9, a.Name)
			require.InDelta(t, 1, a.Widen(shape), 1e-9, a.Name)
		}
	}
	require.Equal(t, Packing("checkerboard"), PackingTagged("checkerboard"))
	require.True(t, PackingTagged("checkerboard").OneFile())
	_, known := PackingTagged("checkerboard").Arrangement()
	require.False(t, known)
	require.Equal(t, "separate, side-by-side or top-and-bottom", PackingNames("-"))
}
