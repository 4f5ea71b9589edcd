// Package encode writes frames to a movie file.
//
// The demo and the tests use it: it is the way back of package decode. A [Movie] says how the
// file is written; the encoder gets a fixed number of threads, so that the same frames give
// the same file on every machine. Frames keep their code values, bit depth and colour tags.
package encode
