package decode

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"nightpair/metrics/picture"
)

// Options says how to read a file; the zero value serves most.
type Options struct {
	// Threads is how many threads one decoder may use; 0 means 1. More make
	// one file faster and cost no less in all.
	Threads int
}

// Info is what a file says of itself.
type Info struct {
	Codec         string
	Width, Height int     // pixels of frame 0
	Depth         int     // significant bits of a sample
	PixelAspect   float64 // width of a pixel over its height, 1 where the file is silent
	Interlaced    bool    // frame 0 holds two fields
	Frames        int     // frames that Frame can be asked for
	// RateNum over RateDen is the number of frames per second, the mean where
	// Variable is set; 0 over 0 when unknown, as with most sequences of stills.
	RateNum, RateDen int
	Variable         bool
	Timecode         string    // label of frame 0 as written in the file, or empty
	Created          time.Time // zero when the file does not say
	Camera           string    // make, model and serial number, as far as tagged
	Colour           picture.Colour
	ColourLabel      string // every colour tag that is set, for people to read
	// Orientation is what the container asks a player to do with the picture.
	// It is not applied to the frames.
	Orientation picture.Orientation
	Stereo      Stereo
}

// reader is a film or a sequence of stills. All calls come from one thread.
type reader interface {
	info() Info
	frame(ctx context.Context, index int) (*picture.Frame, error)
	luma(ctx context.Context, index int) (*picture.Frame, error)    // see File.Luma
	small(ctx context.Context, index int) (*picture.Reduced, error) // see File.Small
	time(index int) time.Duration                                   // see File.Time
	close()
}

// File reads one video file. It serves one goroutine at a time.
type File struct {
	path   string
	w      *worker
	reader reader
	info   Info
	next   int
	closed bool
}

var (
	errLeft   = errors.New("a read hung and was given up")
	errClosed = errors.New("file already closed")
)

// Open opens a video file, or a sequence of stills given as a pattern such as
// name.%04d.dpx. It reads the container's index, or all packets where the
// index does not tell the frames exactly, and decodes the first frame.
func Open(ctx context.Context, path string, opt Options) (*File, error) {
	f := &File{path: path, w: newWorker()}
	type opened struct {
		reader reader
		err    error
	}
	var got opened
	result := &got
	if err := f.w.do(ctx, func() {
		r, err := open(ctx, f.w, path, opt)
		*result = opened{r, err}
	}); err != nil {
		f.w.close(func() {
			if result.reader != nil {
				result.reader.close()
			}
		})
		return nil, cancelled(path, "open", err)
	}
	if got.err != nil {
		f.w.close(func() {})
		if err := ctx.Err(); err != nil {
			return nil, cancelled(path, "open", err)
		}
		return nil, fail(path, "open", got.err)
	}
	f.reader, f.info = got.reader, got.reader.info()
	return f, nil
}

func open(ctx context.Context, w *worker, path string, opt Options) (reader, error) {
	stat, err := os.Stat(path)
	if err != nil {
		if s, found, serr := findSequence(path); found || serr != nil {
			if serr != nil {
				return nil, serr
			}
			q, err := newStills(ctx, w, s, opt)
			if err != nil {
				return nil, err // a nil *stills is no nil reader
			}
			return q, nil
		}
		return nil, fail(path, "open", err)
	}
	switch {
	case stat.IsDir():
		return nil, &Error{File: path, Op: "open", Reason: "a folder, not a file", Err: ErrNotVideo}
	case stat.Mode().IsRegular() && stat.Size() == 0:
		return nil, &Error{File: path, Op: "open", Reason: "empty", Err: ErrEmpty}
	}
	f, err := newFilm(ctx, w, path, opt)
	if err != nil {
		return nil, err
	}
	return f, nil
}

func cancelled(path, op string, err error) error {
	return &Error{File: path, Op: op, Reason: err.Error(), Err: err}
}

// Info returns what the file says of itself.
func (f *File) Info() Info { return f.info }

// Frame returns the frame with that index in presentation order, counted from
// 0, and io.EOF past the last one. Ascending calls are cheap: what lies
// between is skipped where the codec allows it. An error that matches
// ErrDamaged concerns that frame alone.
func (f *File) Frame(ctx context.Context, index int) (*picture.Frame, error) {
	return read(ctx, f, index, reader.frame)
}

// read has the worker get a picture in one of the reader's ways.
func read[T any](ctx context.Context, f *File, index int, get func(reader, context.Context, int) (*T, error)) (*T, error) {
	if f.closed {
		return nil, &Error{File: f.path, Op: "read", Reason: errClosed.Error(), Err: errClosed}
	}
	if index < 0 {
		return nil, &Error{File: f.path, Op: "read", Reason: fmt.Sprintf("no frame %d", index), Err: errors.ErrUnsupported}
	}
	if index >= f.info.Frames {
		return nil, io.EOF
	}
	type answer struct {
		picture *T
		err     error
	}
	got := &answer{}
	if err := f.w.do(ctx, func() {
		picture, err := get(f.reader, ctx, index)
		*got = answer{picture, err}
	}); err != nil {
		return nil, cancelled(f.path, "read", err)
	}
	if got.err != nil {
		if err := ctx.Err(); err != nil && !errors.Is(got.err, ErrDamaged) {
			return nil, cancelled(f.path, "read", err)
		}
		return nil, fail(f.path, "read", got.err)
	}
	return got.picture, nil
}

// Next returns the frames one after the other, and io.EOF after the last. A
// damaged frame is an error in its turn; the call after it goes on.
func (f *File) Next(ctx context.Context) (*picture.Frame, error) {
	frame, err := f.Frame(ctx, f.next)
	if err == nil || errors.Is(err, ErrDamaged) {
		f.next++
	}
	return frame, err
}

// Remarks returns what FFmpeg complained about so far, and what was found odd
// about the file.
func (f *File) Remarks() []Remark { return f.w.notes.list() }

// Close ends reading. Frames stay valid.
func (f *File) Close() error {
	if f.closed {
		return nil
	}
	f.closed = true
	f.w.close(f.reader.close)
	return nil
}
