package record

import (
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
)

func TestKeyIsReadableWhereItCanBe(t *testing.T) {
	for name, want := range map[string]string{
		"A001C003_0412":    "A001C003_0412",
		"scene 4":          "scene_4~",
		"card1/A001":       "card1+A001",
		"Straße/Übersicht": "Straße+Übersicht",
		"":                 "clip~",
		"-rf":              "rf~",
		"..":               "clip~",
		"../../etc/passwd": "etc+passwd~",
		"a\nb":             "a_b~",
		"NUL.mov":          "clipNUL.mov~",
		"com1":             "clipcom1~",
		"ends.":            "ends.~",
		"a:b*c?":           "a_b_c_~",
	} {
		key := Clip{Name: name}.Key()
		if stem, isHashed := strings.CutSuffix(want, "~"); isHashed {
			require.Regexp(t, "^"+regexp.QuoteMeta(stem)+"~[0-9a-f]{12}$", key, "%q", name)
		} else if !isHashed {
			require.Equal(t, want, key)
		}
		requireSafeKey(t, key)
	}
	long := strings.Repeat("ü", 400)
	require.LessOrEqual(t, len(Clip{Name: long}.Key()), maxKey)
	require.NotEqual(t, Clip{Name: long}.Key(), Clip{Name: long + "x"}.Key())
}

func requireSafeKey(t *testing.T, key string) {
	t.Helper()
	require.NotEmpty(t, key)
	require.LessOrEqual(t, len(key), maxKey)
	require.True(t, utf8.ValidString(key))
	require.NotContains(t, key, "/")
	require.NotContains(t, key, `\`)
	require.NotContains(t, ".-_+~", key[:1])
	require.False(t, reserved(key), key)
}

func FuzzKey(f *testing.F) {
	f.Add("a/b", "a+b")
	f.Add("a b", "a_b")
	f.Add("con", "CON")
	f.Add("..", ".")
	f.Add("\xff", "\ufffd")
	f.Fuzz(func(t *testing.T, a, b string) {
		ka, kb := Clip{Name: a}.Key(), Clip{Name: b}.Key()
		requireSafeKey(t, ka)
		requireSafeKey(t, kb)
		if a != b {
			require.NotEqual(t, ka, kb)
		}
	})
}
