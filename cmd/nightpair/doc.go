// Nightpair checks a shooting day's stereo footage overnight.
//
// Package main is the command line. Each command parses its flags, makes one call into qc or
// judge and one into reports, and returns its exit code; only main exits. A file is named for
// its command. open.go is where qc meets decode: it passes an opener, so that qc builds
// without FFmpeg. measure.go is the hidden command that runs in a child process for each clip.
//
// Standard output carries results, at most 100 characters a clip (summary.go); standard error
// carries progress (display.go) and messages. Exit codes and the hints that come with errors
// are in exit.go.
package main
