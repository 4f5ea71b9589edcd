package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestDrawingTellsQuarters(t *testing.T) {
	said := func(a app, counts ...int) string {
		var b strings.Builder
		tell := a.drawing(&b)
		for _, done := range counts {
			tell(done, 8)
		}
		return b.String()
	}
	require.Equal(t, "nightpair: drawn 2 of 8\nnightpair: drawn 4 of 8\nnightpair: drawn 6 of 8\nnightpair: drawn 8 of 8\n",
		said(app{}, 0, 1, 2, 3, 4, 5, 6, 7, 8))
	require.Equal(t, "nightpair: drawn 5 of 8\nnightpair: drawn 8 of 8\n", said(app{}, 5, 8))
	require.Equal(t, "{\"event\":\"drawn\",\"done\":3,\"total\":8}\n", said(app{json: true}, 3))
	require.Empty(t, said(app{quiet: true}, 3, 8))
}
