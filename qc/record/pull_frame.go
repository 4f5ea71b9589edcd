package record

import (
	"nightpair/metrics/depth"
	"nightpair/metrics/geometry"
)

// PullFrame is one of the frames that are looked at where the focus is pulled,
// besides the moments.
type PullFrame struct {
	Frame int `json:"frame"` // of the left eye
	// Parallax is as that of a Spread: the percentiles over the picture.
	Parallax []float64         `json:"parallax"`
	Bands    []depth.FocusBand `json:"bands"` // sharpness by parallax
	// Moved is how far the pictures have moved since the frame in the middle of them.
	Moved geometry.EyeShifts `json:"moved"`
}
