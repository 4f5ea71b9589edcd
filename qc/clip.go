// Package qc checks stereo clips: it pairs the files of a shooting day,
// measures what the two eyes show of one another, keeps the figures as
// records, and judges records against limits.
package qc

// Clip is one shot: the file of each eye, or the one file that holds both.
type Clip struct {
	Name    string  `json:"name"` // unique within a night; may hold slashes
	Left    string  `json:"left"` // path; an image sequence is a pattern such as name.%04d.dpx
	Right   string  `json:"right"`
	Packing Packing `json:"packing"`
	// Why says in a few words why these files were taken for a pair.
	Why string `json:"why"`
	// Problem says why there is nothing to measure, as with a file without its
	// mate; empty for a pair.
	Problem string `json:"problem,omitempty"`
}

// Packing says how the two eyes are stored.
type Packing string

const (
	Separate   Packing = "separate"       // a file for each eye
	SideBySide Packing = "side by side"   // left eye in the left half
	TopBottom  Packing = "top and bottom" // left eye in the top half
)

// Mirrored says which camera looks at the mirror, as the user tells it.
type Mirrored string

const (
	MirroredUnknown Mirrored = ""
	MirroredLeft    Mirrored = "left"
	MirroredRight   Mirrored = "right"
)
