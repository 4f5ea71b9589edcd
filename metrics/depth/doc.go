// Package depth measures the parallax of the whole picture.
//
// Parallax is x_right − x_left of one thing: negative in front of the screen, positive behind
// it. Corners alone do not show a thin or small thing near the cameras, so a dense map of
// parallax is made (NewMap), from which the rest follows: percentiles, window violations, the
// order of the eyes, the parallax in focus.
//
// # The map
//
// The right picture is rectified by the fitted geometry (package geometry). Census codes of
// both quarter rasters give a cost volume: the Hamming distance of each place to the places
// of the same row at each parallax. Matches that are unambiguous make other parallaxes dearer
// around them, which tells the right period of repeated texture. The costs are
// aggregated along four paths by semi-global matching (H. Hirschmüller, "Stereo processing by
// semiglobal matching and mutual information", IEEE TPAMI 30(2), 2008; from memory), with
// a cheaper step of parallax at an edge of the picture's brightness. Places where the two
// directions of matching disagree are left out: most of them are seen by one eye alone.
//
// The parallax is then refined on the half raster: the Hamming distance rises linearly to both
// sides of its minimum, so its lowest point is where two lines of equal slope meet. The
// values of one surface are smoothed by a weighted mean with the weights of Tukey's biweight,
// and what has a large standard error or belongs to a tiny patch is dropped. Places that remain
// without a value are NaN: they are hidden from one eye, or without texture that exceeds the
// noise.
//
// # Window violations
//
// A thing in front of the screen that an edge of the picture crosses is seen to end at a frame
// behind it. FindEdges collects the parallax along each edge, as it will be after the right
// picture is aligned. Things that end just before the edge are told apart by
// comparing the outermost strip of both pictures at the parallax of the thing with that at
// parallaxes farther behind.
//
// # Order of the eyes
//
// Beside the edge of a nearer thing lies a strip that one eye alone sees; it belongs to the
// surface behind and looks like it (K. Nakayama, S. Shimojo, "Da Vinci stereopsis", Vision
// Research 30, 1990). If the eyes are exchanged, such strips look like the nearer surface.
// See Ownership.
//
// # Focus
//
// Map.Focus measures at which parallax the left picture is sharpest, by the steepest step between
// neighbouring pixels over all the change around it, which does not depend on contrast.
// It needs texture at several depths. Map.FocusBands gives the sharpness at each parallax:
// followed over a focus pull, the texture, which is the same at all times, drops out, and
// the bands show where the focus is.
//
// # The ends
//
// The percentiles at both ends (Map.Percentile) carry what was not matched: places without a
// value may be as near as the nearest beside them or as far as the farther. What noise spreads the
// ends by counts as an error. Beyond all unambiguous matches of the
// geometry a value is in doubt by as much as it lies beyond.
//
// # Limits
//
// The map has one value for 4×4 pixels of the full raster, and a thing narrower than the
// window of its census codes may be lost. Transparent and mirroring things have no single
// parallax. A range of parallax of more than 55 % of the width is not searched in full.
package depth
