// Package demo writes a small invented shooting day.
//
// Clips are drawn by package synth with known faults (day.go lists them, with the limit that
// each is made to exceed), compressed as cameras do, and named as crews name them. The
// program can be tried on the day, and tests check it end to end: each fault has to be found,
// and nothing else. A fault that only moves or relights the picture is made from pictures
// drawn once (retouch.go), which keeps the day quick to write.
package demo
