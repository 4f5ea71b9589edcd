// Package decode turns one video file, or one sequence of stills, into numbered frames.
//
// It knows nothing of left and right, and it changes nothing about a picture: what the file
// asks a player to do with it, such as turning it, is reported and left to the caller. With
// package encode it is the only place of the project that calls FFmpeg.
//
// # Exact frame numbers
//
// Frames are numbered in the order in which they are shown, from 0, and edit lists are
// heeded. For that [Open] makes a table of all packets, from the container's index where that
// is exact and by reading the packets where it is not (table.go, container.go). Frame i is
// then the i-th shown packet, whatever time stamps say. Going to a frame seeks to the packet
// where decoding can start, finds out by the look of the packets where the file really is
// (position.go), and decodes on from there. A frame that does not decode cleanly is an error
// and shifts no other (video.go). In a sequence of stills, frame i is the picture numbered
// first + i (stills.go).
//
// # Threads, hangs, log lines
//
// Each file has an operating system thread of its own (worker.go). FFmpeg's log lines are
// told apart by thread and become counted remarks on that file (remark.go); none reaches the
// terminal. A read that hangs, as on a network drive that has gone, holds up that thread
// alone; the caller gets the context's error.
//
// # Looking at every frame
//
// [File.Luma] gives frames with luma alone in the cheapest way, for telling frames apart.
// [File.Sound] gives the first sound track as samples, [File.Time] the time stamp of a frame.
//
// # Tags
//
// Colour, orientation, timecode, camera and stereo packing are what the file says
// (colour.go, orientation.go, tags.go, stereo.go, sei.go). Standards: ITU-T H.273 for colour,
// ITU-T H.264 Annex D and MP4/Matroska tags for stereo, SMPTE ST 12-1 for timecode.
package decode
