package qc

import (
	"time"

	"nightpair/metrics"
)

// Record is everything that was measured on one clip. It is stored as JSON
// lines: the Header, a line for each Moment in the order of measuring, and the
// Trailer, without which the record does not count.
type Record struct {
	Header  Header
	Moments []Moment // in ascending order of frames
	Trailer Trailer
}

// Header opens a record.
type Header struct {
	// Fingerprint covers what the figures depend on: paths, sizes and
	// modification times of the files, the plan, what the user said of the rig,
	// and the revisions of the metrics.
	Fingerprint string `json:"fingerprint"`
	Clip        Clip   `json:"clip"`
	Left        Source `json:"left"`
	Right       Source `json:"right"`
	Setup       Setup  `json:"setup"`
	// EyeWidth and EyeHeight are the size in pixels of one eye's picture.
	EyeWidth  int `json:"eye_width"`
	EyeHeight int `json:"eye_height"`
}

// Moment is what was measured at one instant.
type Moment struct {
	Frame    int           `json:"frame"` // of the left eye, from 0
	Time     time.Duration `json:"time"`  // since frame 0, nanoseconds
	Timecode string        `json:"timecode,omitempty"`
	// Values holds one entry for each of metrics.All, by name.
	Values map[string]metrics.Measurement `json:"values"`
	// Left and Right are small JPEG pictures of the eyes as measured: turned
	// upright and in the right order.
	Left  []byte `json:"left_picture,omitempty"`
	Right []byte `json:"right_picture,omitempty"`
}

// Trailer closes a record.
type Trailer struct {
	Done bool `json:"done"` // always true: what tells a trailer from a moment
	// Failed says why the clip could not be measured; empty when it was.
	Failed string `json:"failed,omitempty"`
	Left   []Note `json:"left_notes,omitempty"`
	Right  []Note `json:"right_notes,omitempty"`
}
