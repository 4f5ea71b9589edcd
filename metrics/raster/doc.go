// Package raster holds single-channel pictures prepared for comparing two eyes.
//
// A Raster is a frame's luma in float32, scaled so that full scale is about 255 whatever
// the file's depth. It knows where its pixels lie in the picture, in units of the picture
// height from the picture's centre, x to the right, y down, so that results of rasters of
// different sizes agree. The rest of the package finds out what a picture shows where:
// census codes, corners, blur, noise, values between pixels.
//
// # Reduction
//
// Pictures are reduced to at most 1024 columns (FromFrame), HD to half its size. Box averages
// keep frequencies that are too fine for their pixels; these aliases pull measured places
// towards whole pixels, by several hundredths of a pixel in HD. So the last halving uses
// the binomial filter 1 3 3 1 (Raster.Halve), and so do the further levels of a Pyramid. A
// Raster keeps account of what the reductions do to the noise of the frame's pixels
// (NoiseGain, NoiseCorrelation).
//
// # Values between pixels
//
// Interpolation uses six taps that shift waves of up to 0.32 cycles per pixel most nearly
// right, in the least-squares sense. A windowed sinc of six taps would shift coarse texture
// by up to 0.02 pixels too little, which is worth a tenth of the vertical disparity that a
// camera out of height makes.
//
// # Features
//
// The census transform (Census) describes a pixel by which of its neighbours are darker, so
// that exposure, gamma and lift of the eyes may differ (R. Zabih, J. Woodfill,
// "Non-parametric local transforms for computing visual correspondence", ECCV 1994; from
// memory). Corners are places that can be told from their neighbourhood in both directions
// (J. Shi, C. Tomasi, "Good features to track", CVPR 1994; from memory), one from each cell
// of a fine grid so that they are spread over the picture.
//
// # Noise
//
// Noise is estimated where the picture shows little else, by the response to a filter that
// is blind to slopes and curvature along the axes (J. Immerkær, "Fast noise variance
// estimation", Computer Vision and Image Understanding 64(2), 1996; from memory). A
// NoiseModel puts the levels of brightness together into the noise of a sensor, whose
// variance is linear in the light. Fine texture without smooth parts in between is taken for
// noise.
//
// # Blur
//
// Raster.SofterThan compares how much two eyes' pictures are blurred where one is so far out of
// focus that places can no longer be matched. Over drawn scenes it is right to 6 %, up to 25
// pixels of HD. The sharper picture can then be blurred as much (Raster.Blurred) before
// places are looked for.
package raster
