package pairing

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc/record"
)

func TestParseManifest(t *testing.T) {
	m, err := parseManifest(strings.NewReader("\ufeff# the day's exceptions\n"+
		"left,right,packing,name\n"+
		"a.mov,b.mov,,opening\n"+
		"\n"+
		"\"sub/odd, name.mov\", x.mov ,separate,\n"+
		"both.mp4,,SBS,\n"), filepath.Join("day", "pairs.csv"))
	require.NoError(t, err)
	require.Equal(t, []manifestRow{
		{Line: 3, Left: filepath.Join("day", "a.mov"), Right: filepath.Join("day", "b.mov"), Packing: record.Separate, Name: "opening"},
		{Line: 5, Left: filepath.Join("day", "sub", "odd, name.mov"), Right: filepath.Join("day", "x.mov"), Packing: record.Separate},
		{Line: 6, Left: filepath.Join("day", "both.mp4"), Packing: record.SideBySide},
	}, m.Rows)
}

func TestParseManifestErrorsNameLineAndReason(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "m.csv: empty"},
		{"left;right\n", "m.csv:1: its cells are separated by semicolons"},
		{"left\na\n", `m.csv: no column "right"`},
		{"left,right,left\n", "m.csv:1: column left comes twice"},
		{"left,right\na.mov\n", "m.csv:2: 1 cells under 2 columns"},
		{"left,right\na.mov,\n", "m.csv:2: a left file without a right one needs a packing"},
		{"left,right\n,a.mov\n", "m.csv:2: no left file"},
		{"left,right\na.mov,a.mov\n", "m.csv:2: the same file for both eyes"},
		{"left,right,packing\na.mov,b.mov,sbs\n", "m.csv:2: two files, yet side by side"},
		{"left,right,packing\na.mov,,separate\n", "m.csv:2: no right file"},
		{"left,right,packing\n\na.mov,,x\n", `m.csv:3: unknown packing "x"`},
		{"left,right\n\"a.mov,b.mov\n", "m.csv:2: extraneous or missing \" in quoted-field"},
	} {
		_, err := parseManifest(strings.NewReader(c.text), "m.csv")
		require.ErrorContains(t, err, c.want, "%q", c.text)
	}
	_, err := parseManifest(strings.NewReader("left,right\n,x\na,a\n"), "m.csv")
	require.ErrorContains(t, err, "m.csv:2:")
	require.ErrorContains(t, err, "m.csv:3:")
}

func FuzzParseManifest(f *testing.F) {
	f.Add("left,right\na.mov,b.mov\n")
	f.Add("left,right,packing,name\na.mov,,sbs,x\n# no\n")
	f.Add("\ufeffname,right,left\n\"\n\",b,../c\n")
	f.Fuzz(func(t *testing.T, text string) {
		m, err := parseManifest(strings.NewReader(text), "m.csv")
		if err != nil {
			require.ErrorContains(t, err, "m.csv")
			return
		}
		for _, row := range m.Rows {
			require.NotEmpty(t, row.Left)
			require.Equal(t, row.Packing == record.Separate, row.Right != "")
			require.Positive(t, row.Line)
		}
	})
}
