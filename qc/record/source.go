package record

import (
	"time"

	"nightpair/metrics/picture"
)

// Source is what a file says of itself.
type Source struct {
	Path   string `json:"path"`
	Codec  string `json:"codec"`
	Width  int    `json:"width"` // pixels, of the file's picture
	Height int    `json:"height"`
	Depth  int    `json:"depth"` // bits per sample
	// PixelAspect is the width of a pixel over its height.
	PixelAspect float64 `json:"pixel_aspect"`
	Frames      int     `json:"frames"`
	// Rate is the number of frames per second as a fraction; the mean rate
	// where Variable is set.
	RateNum  int  `json:"rate_num"`
	RateDen  int  `json:"rate_den"`
	Variable bool `json:"variable,omitempty"`
	// Timecode is the label of frame 0 (SMPTE ST 12-1), empty where there is
	// none; with drop frame its last separator is a semicolon.
	Timecode string    `json:"timecode,omitempty"`
	Created  time.Time `json:"created,omitzero"`
	Camera   string    `json:"camera,omitempty"` // make, model and serial number as tagged
	// Colour is the file's colour tags in words, for the report.
	Colour string `json:"colour,omitempty"`
	// Orientation is what the container asks a player to do with the picture.
	Orientation picture.Orientation `json:"orientation,omitempty"`
	// Packing is what the file's own stereo tags say; empty where they are silent.
	Packing Packing `json:"packing,omitempty"`
	// Inverted says that the tags put the right eye first.
	Inverted bool `json:"inverted,omitempty"`
	// MirroredEye says which of the two packed pictures the tags call mirrored:
	// 0 neither, 1 the first, 2 the second. Side by side that is a flop, top and
	// bottom a flip (H.264, Annex D, spatial flipping).
	MirroredEye int `json:"mirrored_eye,omitempty"`
}

// Rate returns the frames per second, 0 when unknown.
func (s Source) Rate() float64 {
	if s.RateDen == 0 {
		return 0
	}
	return float64(s.RateNum) / float64(s.RateDen)
}

// Note is a line of the decoder's log with the number of times it came.
type Note struct {
	Text  string `json:"text"`
	Count int    `json:"count"`
}
