package measure

import (
	"context"

	"nightpair/metrics/picture"
	"nightpair/qc/record"
)

// Reader reads one video file by frame number.
type Reader interface {
	Source() record.Source
	// Frame returns the frame with that index in presentation order, counted
	// from 0, and io.EOF past the last one. Ascending indices are cheapest.
	Frame(ctx context.Context, index int) (*picture.Frame, error)
	// Notes returns what the decoder complained about so far.
	Notes() []record.Note
	Close() error
}

// OpenFunc opens the file of a clip for reading.
type OpenFunc func(ctx context.Context, path string) (Reader, error)
