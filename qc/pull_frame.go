package qc

import "nightpair/metrics"

// PullFrame is one of the frames that are looked at where the focus is pulled,
// besides the moments.
type PullFrame struct {
	Frame int `json:"frame"` // of the left eye
	// Parallax is as that of a Spread: the percentiles over the picture.
	Parallax []float64           `json:"parallax"`
	Bands    []metrics.FocusBand `json:"bands"` // sharpness by parallax
	// Moved is how far the pictures have moved since the frame in the middle of them.
	Moved metrics.Moved `json:"moved"`
}
