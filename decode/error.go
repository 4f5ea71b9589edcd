package decode

import (
	"errors"
	"io/fs"
	"syscall"

	"github.com/asticode/go-astiav"
)

// Error says which file failed, at what, and why in plain words.
type Error struct {
	File   string
	Op     string // "open", "index", "seek", "read" or "decode"
	Reason string
	Err    error // the cause, one of the errors below where one fits
}

func (e *Error) Error() string { return e.Op + " " + e.File + ": " + e.Reason }
func (e *Error) Unwrap() error { return e.Err }

// The causes that callers may want to tell apart. Files that are not there or
// may not be read match fs.ErrNotExist and fs.ErrPermission.
var (
	ErrEmpty     = errors.New("empty file")
	ErrTruncated = errors.New("truncated file")
	ErrNotVideo  = errors.New("not a video file")
	ErrEncrypted = errors.New("encrypted file")
	// ErrDamaged concerns one frame: others of the same file may be clean.
	ErrDamaged = errors.New("damaged frame")
)

// fail makes an Error from what FFmpeg returned.
func fail(file, op string, err error) *Error {
	if known := (*Error)(nil); errors.As(err, &known) {
		return known
	}
	e := &Error{File: file, Op: op, Reason: err.Error(), Err: err}
	var code astiav.Error
	if errors.As(err, &code) {
		switch {
		case code == astiav.ErrInvaliddata:
			e.Reason, e.Err = "FFmpeg finds no video in it", ErrNotVideo
		case code < 0 && code > -4096:
			// FFmpeg's small error codes are errno negated.
			e.Err = syscall.Errno(-code)
			e.Reason = e.Err.Error()
		}
	}
	switch {
	case errors.Is(e.Err, fs.ErrNotExist):
		e.Reason = "no such file"
	case errors.Is(e.Err, fs.ErrPermission):
		e.Reason = "permission denied"
	}
	return e
}
