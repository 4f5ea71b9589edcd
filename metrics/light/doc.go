// Package light compares the light that the two eyes record of the same places.
//
// # Balance
//
// [NewCells] averages the signals of red, green and blue over cells of the quarter raster,
// and [NewOverlap] pairs the cells of both eyes where the dense map of parallax has a
// match. [FitBalance] explains the right eye's signals by the left eye's: for each channel
// a gain of the linear light, in stops, and a lift of the signal. It is a regression with
// errors in both variables (Deming) with Tukey's biweight against places that are
// something else in the other eye. Priors keep a picture without dark places from
// splitting the effect between gain and lift at random. Standard errors sum over tiles of
// the picture, because neighbours share their errors, and are no smaller than what becomes of
// the balance without one of twelve large parts of the picture after another: surfaces that
// mirror or shine show the eyes different light over a part as a whole.
//
// Noise lowers the mean of a curved or clipped signal, most of all near black; package
// raster estimates by how much, and the fit corrects for it. In dark pictures the fit
// takes what is bright enough, channel by channel. A blur of one eye spreads light between
// bright and dark places, which would pass for a lifted black: from a blur of 0.8 px of HD
// on, the sharper eye's cells are made again from its picture, blurred as much
// ([Cells.Blurred]). That costs such a moment about as much again as all else in this
// package.
//
// # Rivalry
//
// [RivalryInputs.FindRivalry] takes as rivalry what neither the balance, nor the range of the
// signals around a place, nor another parallax near it explains, in compact patches.
// Burnt-in graphics ([FindLettering]) and clipping below white ([Ceiling]) are faults of
// their own and do not count.
//
// # Colour
//
// [Ciede2000] is the colour difference of G. Sharma, W. Wu and E. Dalal. [FitGrade] finds
// the ASC CDL that makes the right eye match the left.
//
// # One eye at a time
//
// [Combed] finds interlace combing, and [Blocks.MissingShare] a picture that is missing in
// one eye. Neither needs a match between the eyes.
//
// # Limits
//
// Over the drawn scenes, with noise and a blur of one eye of up to 3 px of HD, exposure is
// right to 0.02 stops and the lift to 0.2 % of full scale; with up to 6 px, to 0.03 stops
// and 0.3 %. Signals of a log curve are compared as code values, because files do not tell
// the curve's shape. Eyes that are coded by different curves are not compared.
//
// The balance, rivalry, lettering, combing and blank areas are the project's own methods.
package light
