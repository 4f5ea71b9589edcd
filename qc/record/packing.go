package record

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"unicode"

	"nightpair/metrics/picture"
)

// Packing names how the two eyes are stored: empty where that is not known yet, one
// of Packings, or whatever a file's stereo tags call a packing that is none of them.
type Packing string

const (
	Separate   Packing = "separate"
	SideBySide Packing = "side by side"
	TopBottom  Packing = "top and bottom"
)

// Arrangement is all there is to know of a packing.
type Arrangement struct {
	Name Packing
	// Aliases are what else people call it when asked, in lower case and without
	// spaces, hyphens and underscores.
	Aliases []string
	// Mark finds the words in a file's name that say it, as its first group; nil where
	// none do.
	Mark *regexp.Regexp
	// Tag is what decode calls it where a file's stereo tags say it; empty where
	// they cannot.
	Tag string
	// Split takes one file's picture apart, in the order in which its pictures lie;
	// the left eye is first unless the tags say otherwise. It is nil where each eye
	// has a file of its own, and what follows is then not used.
	Split func(whole *picture.Frame) (first, second *picture.Frame)
	// Across and Down say by how much an eye's picture has fewer pixels across and
	// down than the file's.
	Across, Down int
	// Widen returns by how much the pixels of an eye's picture that is so many times
	// as wide as high have to be widened: eyes that were squeezed to share a picture
	// of the usual size get their shape back. No tag tells, but the shape does.
	Widen func(shape float64) float64
	// Mirrored is how an eye is turned that the tags call mirrored (H.264, Annex D,
	// spatial flipping).
	Mirrored picture.Orientation
}

// Packings lists every packing that can be measured. It is never changed.
var Packings = []Arrangement{
	{
		Name: Separate, // a file for each eye
	},
	{
		Name:    SideBySide, // left eye in the left half
		Aliases: []string{"sbs"},
		Mark:    nameMark(`h?sbs|side[ ._-]?by[ ._-]?side`),
		Tag:     "side by side",
		Split:   halves(picture.LeftHalf, picture.RightHalf),
		Across:  2, Down: 1,
		// Squeezed halves are narrower than any usual picture, a square one apart. The
		// limits are the project's own choice.
		Widen: func(shape float64) float64 {
			const narrow, square = 1.25, 0.02
			if shape < narrow && math.Abs(shape-1) > square {
				return 2
			}
			return 1
		},
		Mirrored: picture.Flop,
	},
	{
		Name:    TopBottom, // left eye in the top half
		Aliases: []string{"topbottom", "tb", "overunder"},
		Mark:    nameMark(`h?tb|top[ ._-]?(?:and[ ._-]?)?bottom|over[ ._-]?under`),
		Tag:     "top and bottom",
		Split:   halves(picture.TopHalf, picture.BottomHalf),
		Across:  1, Down: 2,
		// Squeezed halves are wider than any usual picture. The limit is the project's
		// own choice.
		Widen: func(shape float64) float64 {
			const wide = 2.5
			if shape > wide {
				return 0.5
			}
			return 1
		},
		Mirrored: picture.Flip,
	},
}

// nameMark returns the expression for a mark, which must stand between signs that are
// neither letters nor digits, in any case.
func nameMark(words string) *regexp.Regexp {
	return regexp.MustCompile(`(?i)(?:^|[^\pL\pN])(` + words + `)(?:$|[^\pL\pN])`)
}

func halves(first, second picture.Half) func(*picture.Frame) (*picture.Frame, *picture.Frame) {
	return func(whole *picture.Frame) (*picture.Frame, *picture.Frame) {
		return whole.Half(first), whole.Half(second)
	}
}

// Arrangement returns what is known of a packing; false when it is none of Packings.
func (p Packing) Arrangement() (Arrangement, bool) {
	i := slices.IndexFunc(Packings, func(a Arrangement) bool { return a.Name == p })
	if i < 0 {
		return Arrangement{}, false
	}
	return Packings[i], true
}

// OneFile reports whether one file holds both eyes, be it in a known way or not.
func (p Packing) OneFile() bool { return p != "" && p != Separate }

// PackingTagged returns the packing that decode calls tag, and the tag itself where it
// is none of Packings.
func PackingTagged(tag string) Packing {
	for _, a := range Packings {
		if a.Tag != "" && a.Tag == tag {
			return a.Name
		}
	}
	return Packing(tag)
}

// ParsePacking reads a packing as people write it: its name, with the words joined
// by spaces, hyphens, underscores or nothing, or an alias, in any case.
func ParsePacking(s string) (Packing, error) {
	word := compact(s)
	for _, a := range Packings {
		if word == compact(string(a.Name)) || slices.Contains(a.Aliases, word) {
			return a.Name, nil
		}
	}
	return "", fmt.Errorf("unknown packing %q (%s)", s, PackingNames(" "))
}

// compact returns a name in lower case without what parts its words.
func compact(s string) string {
	return strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' || r == '_' {
			return -1
		}
		return unicode.ToLower(r)
	}, s)
}

// PackingNames lists the packings for people to choose from, as "separate, side by
// side or top and bottom", with a sign between the words of a name.
func PackingNames(between string) string {
	var names []string
	for _, a := range Packings {
		names = append(names, strings.ReplaceAll(string(a.Name), " ", between))
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}
