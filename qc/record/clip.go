package record

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Clip is one shot: the file of each eye, or the one file that holds both.
type Clip struct {
	Name    string  `json:"name"` // unique within a night, in any letter case; may hold slashes
	Left    string  `json:"left"` // path; an image sequence is a pattern such as name.%04d.dpx
	Right   string  `json:"right"`
	Packing Packing `json:"packing"`
	// Why says in a few words why these files were taken for a pair.
	Why string `json:"why"`
	// Sure is the probability that they are a pair, where that was told from what the files
	// say and show; 0 where their names, or whoever made the footage, say so.
	Sure float64 `json:"sure,omitempty"`
	// Problem says why there is nothing to measure, as with a file without its
	// mate; empty for a pair. It names every file concerned that is in neither
	// Left nor Right.
	Problem string `json:"problem,omitempty"`
}

// maxKey is the length in bytes of the longest key: file systems take 255, and
// what is made from a key is longer than the key.
const maxKey = 120

// Key returns a name for the files that are made about the clip, such as its
// record and its page. It holds letters, digits, hyphens, underscores, dots and
// plus signs, starts with a letter or a digit, and differs for different names:
// a slash becomes a plus sign, and where anything else has to be replaced or
// shortened, a tilde and a hash of the name are added.
func (c Clip) Key() string {
	var b strings.Builder
	exact := true
	for i, r := range c.Name {
		switch {
		case r == utf8.RuneError:
			exact = false
			b.WriteByte('_')
		case unicode.IsLetter(r), unicode.IsDigit(r):
			b.WriteRune(r)
		case strings.ContainsRune("-_.", r) && i > 0:
			b.WriteRune(r)
		case r == '/' && i > 0:
			b.WriteByte('+')
		default:
			exact = false
			b.WriteByte('_')
		}
	}
	key := b.String()
	if exact && len(key) <= maxKey && key != "" && !strings.HasSuffix(key, ".") && !reserved(key) {
		return key
	}
	sum := sha256.Sum256([]byte(c.Name))
	hash := "~" + hex.EncodeToString(sum[:6])
	key = strings.TrimLeft(key, "_-.+")
	for len(key) > maxKey-len(hash) {
		_, size := utf8.DecodeLastRuneInString(key)
		key = key[:len(key)-size]
	}
	if key == "" || reserved(key) {
		key = "clip" + key
	}
	return key + hash
}

// reserved reports whether a key is a device's name on some file systems,
// with or without an extension.
func reserved(key string) bool {
	stem, _, _ := strings.Cut(strings.ToLower(key), ".")
	switch stem {
	case "con", "prn", "aux", "nul":
		return true
	}
	if len(stem) == 4 && (strings.HasPrefix(stem, "com") || strings.HasPrefix(stem, "lpt")) {
		return stem[3] >= '0' && stem[3] <= '9'
	}
	return false
}

// Mirrored says which camera looks at the mirror, as the user tells it.
type Mirrored string

const (
	MirroredUnknown Mirrored = ""
	MirroredLeft    Mirrored = "left"
	MirroredRight   Mirrored = "right"
)
