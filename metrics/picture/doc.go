// Package picture describes a decoded frame.
//
// It is all that a decoder has to know: package decode fills a Frame with the code values of
// the file, unchanged, and with what the file says of them. Everything that turns code
// values into something else starts here.
//
// Three kinds of value occur. Code values are integers as the file holds them, Frame.Depth
// bits deep. A signal is a non-linear value, 0 at black and 1 at white, of luma or of red,
// green and blue (Frame.Signal). Light is linear, 0 at black and 1 at reference white
// (Transfer.Light). The standards are Rec. ITU-R BT.601, BT.709, BT.1886, BT.2020 and
// BT.2100, SMPTE ST 2084 and IEC 61966-2-1. Where a file does not say what its values
// mean, the usual reading holds (see Range, Matrix, Transfer and Primaries).
//
// A camera's log curve is not known by its name alone and is not linearised: its code values are
// used as if they were light. Chroma planes are read without regard to where between the
// luma samples they are sited.
//
// Besides, a frame can be oriented (Frame.Oriented), halved where both eyes share one picture
// (Frame.Half), reduced to a Signature that shows what changes over time, and turned into a
// small picture to look at (Frame.Thumbnail).
package picture
