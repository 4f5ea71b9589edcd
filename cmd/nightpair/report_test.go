package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc/record"
)

func TestFolderOf(t *testing.T) {
	of := func(paths ...string) string {
		var records []record.Record
		for i := 0; i < len(paths); i += 2 {
			records = append(records, record.Record{Header: record.Header{Clip: record.Clip{Left: paths[i], Right: paths[i+1]}}})
		}
		return folderOf(records)
	}
	require.Equal(t, "", of())
	require.Equal(t, "", of("a.mov", "b.mov"))
	require.Equal(t, "day", of("day/a.mov", "day/b.mov"))
	require.Equal(t, "day", of("/media/day/LEFT/a.mov", "/media/day/RIGHT/a.mov", "/media/day/both.mov", ""))
	require.Equal(t, "day", of("", "day/b.mov"))
	require.Equal(t, "", of("/one/a.mov", "/two/a.mov"))
	require.Equal(t, "", of("one/a.mov", "/two/a.mov"))
}
