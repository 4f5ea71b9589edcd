package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"

	"nightpair/qc/judge"
)

func TestComplain(t *testing.T) {
	full := &fs.PathError{Op: "write", Path: "out/records/A.partial", Err: syscall.ENOSPC}
	const room = "nightpair: hint: make room on the disk and run the same command again: what was measured is kept\n"
	tests := []struct {
		name string
		err  error
		code int
		said string
	}{
		{"plain", errors.New("oh"), 2, "nightpair: error: oh\n"},
		{"hinted", hinted(errors.New("oh"), "do"), 2, "nightpair: error: oh\nnightpair: hint: do\n"},
		{"disk full before the night", full, 2, "nightpair: error: write out/records/A.partial: no space left on device\n" + room},
		{"disk full in the night", broken(full), 3, "nightpair: error: write out/records/A.partial: no space left on device\n" + room},
		{"interrupted", fmt.Errorf("search: %w", context.Canceled), 130, "nightpair: error: interrupted\n"},
		{"several at once", errors.Join(errors.New("a.csv:2: oh"), errors.New("a.csv:3: no")), 2, "nightpair: error: a.csv:2: oh; a.csv:3: no\n"},
		{"endless", errors.New(strings.Repeat("o", 5000)), 2, "nightpair: error: " + strings.Repeat("o", 2000) + "…\n"},
		{"control characters", errors.New("open \x1b[2J: oh"), 2, "nightpair: error: open \uFFFD[2J: oh\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var said strings.Builder
			require.Equal(t, tt.code, complain(&said, tt.err))
			require.Equal(t, tt.said, said.String())
		})
	}
}

func TestExitFor(t *testing.T) {
	of := func(statuses ...judge.Status) int {
		var verdicts []judge.Verdict
		for _, s := range statuses {
			verdicts = append(verdicts, judge.Verdict{Status: s})
		}
		return exitFor(verdicts, nil)
	}
	require.Equal(t, 0, of())
	require.Equal(t, 0, of(judge.Passed, judge.Passed))
	require.Equal(t, 1, of(judge.Passed, judge.Failed))
	require.Equal(t, 1, of(judge.Warned, judge.Passed))
	require.Equal(t, 1, exitFor(nil, []judge.Finding{{Status: judge.Warned}}))
	require.Equal(t, 3, of(judge.Failed, judge.Unmeasured, judge.Passed))
}
