// Package record holds what was measured on a clip.
//
// A [Record] is stored as JSON lines: a [Header], one [Moment] after another in the order of
// measuring, and a [Trailer]. The header says what the files are ([Source]), how the eyes had
// to be set up ([Setup]: packing, turned eyes, order of the eyes, slip), and what was found
// about their timing ([Sync]). A moment has a value with a standard error, or the reason why
// there is none, for each metric, with small stills and the evidence that findings need
// beyond figures. The trailer says whether measuring came to its end.
//
// The same stream carries progress, results and crash safety. A child process writes it line
// by line, the parent reads it line by line ([Stream]), and a record without its trailer does
// not count ([ErrTruncated]). The header comes twice: an early one as soon as the files are
// open, so that a clip whose pictures crash the decoder still shows what its files are, and
// then the whole one. Unknown keys are errors: a record of another version is measured again.
//
// A record holds no time of day and no path of the machine other than the clip's own, so the
// same footage gives the same bytes. Names of JSON keys are older than some names in the code
// (hitches, heave, cuts); they stay, because records on disk have them.
//
// [Packings] is the one table of packings: names, aliases, marks in file names, how a picture
// is split, by how much the eyes are squeezed. A new packing is one value there.
//
// Timecode is that of SMPTE ST 12-1, with and without drop frame (timecode.go).
package record
