package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"syscall"

	"nightpair/qc"
	"nightpair/qc/judge"
)

// Exit codes, on which scripts rely.
const (
	exitWithin      = 0   // everything within limits
	exitExceeded    = 1   // some limit exceeded
	exitNotRun      = 2   // usage, a bad limits file, nothing to check
	exitUnmeasured  = 3   // some clips could not be measured; outranks exitExceeded
	exitInterrupted = 130 // as shells have it for an interrupt
)

// failure is an error with what the user can do about it.
type failure struct {
	error
	hint string
	code int // 0 stands for exitNotRun
}

func (f failure) Unwrap() error { return f.error }

// hinted adds a hint to an error.
func hinted(err error, hint string) error { return failure{error: err, hint: hint} }

// complain writes an error in the form of the contract and returns the exit
// code that goes with it.
func complain(w io.Writer, err error) int {
	code, hint := exitNotRun, ""
	if f, ok := errors.AsType[failure](err); ok {
		hint = f.hint
		if f.code != 0 {
			code = f.code
		}
	}
	if errors.Is(err, context.Canceled) {
		code = exitInterrupted
		err = errors.New("interrupted")
	}
	if hint == "" {
		hint = hintFor(err)
	}
	fmt.Fprintf(w, "nightpair: error: %s\n", oneLine(err.Error()))
	if hint != "" {
		fmt.Fprintf(w, "nightpair: hint: %s\n", oneLine(hint))
	}
	return code
}

// hintFor knows what to do about errors that come from anywhere.
func hintFor(err error) string {
	broken, isBroken := errors.AsType[*qc.RecordError](err)
	switch {
	case isBroken:
		return "delete " + broken.Path + " and check again: that measures its clip anew"
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return "make room on the disk and run the same command again: what was measured is kept"
	case errors.Is(err, qc.ErrBusy):
		return "wait until it has finished, or name another folder with --out"
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return "check who may read and write there; the report may go to another folder with --out"
	}
	return ""
}

// exitFor returns the exit code for what was judged.
func exitFor(verdicts []judge.Verdict, day []judge.Finding) int {
	code := exitWithin
	if len(day) > 0 {
		code = exitExceeded
	}
	for _, v := range verdicts {
		switch v.Status {
		case judge.Unmeasured:
			return exitUnmeasured
		case judge.Failed, judge.Warned:
			code = exitExceeded
		}
	}
	return code
}
