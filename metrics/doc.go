// Package metrics measures how the two eyes of a stereo pair differ.
//
// A [Metric] is one thing that can be measured; [All] lists them. Most are measured on a
// [Pair], a left and a right frame of one instant; those that take motion to be seen are
// measured on the bursts of a clip ([Burst]). A result is a [Measurement]: a value with its
// standard error, or the reason why it is missing. It is never 0 or NaN for "could not be
// measured".
//
// Everything is the right eye relative to the left, x to the right, y down. The Doc of each
// metric says what a positive value means.
//
// How things are measured is described in the packages below: picture (frames), raster
// (reduced pictures), geometry (matches, the rig), depth (dense parallax), light, focus,
// timing. Those know frames, rasters, fits and maps but no Pair; Pair does each costly step
// once and shares it between metrics.
package metrics
