package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/decode"
	"nightpair/qc/record"
)

// The tags in qc's table of packings are the names that decode has for them.
func TestPackingOfTags(t *testing.T) {
	for tag, want := range map[decode.FramePacking]record.Packing{
		decode.Mono:         "",
		decode.SideBySide:   record.SideBySide,
		decode.TopBottom:    record.TopBottom,
		decode.Checkerboard: "checkerboard",
	} {
		require.Equal(t, want, packing(decode.Stereo{Packing: tag}))
	}
	known := map[string]bool{}
	for p := decode.Mono; p.String() != decode.FramePacking(-1).String(); p++ {
		known[p.String()] = true
	}
	for _, a := range record.Packings {
		if a.Tag != "" {
			require.True(t, known[a.Tag], a.Tag)
		}
	}
}
