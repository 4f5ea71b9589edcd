// Package coarse tells how the two eyes differ in every frame of a clip.
//
// The fine geometry of a moment costs a fifth of a second and is measured at some two
// dozen moments of a clip; what happens between them it does not see. Here every frame of
// both eyes is reduced to a picture some 240 pixels wide, in which some two hundred
// places are found in both eyes. Their vertical disparities, less what the fine geometry
// makes of keystone, tilt, camera height and lenses, are explained by three numbers: the
// right picture's offset, its roll and its zoom. Their brightness is explained by one: the
// exposure.
//
// A frame is known to some hundredths of a small pixel, a hundredth of a per cent of the
// picture height, and no frame depends on another, so that errors of neighbouring frames
// are independent but for what the scene has in common. What the scene biases shows
// against the fine moments and is taken out there (see package qc/series).
//
// Places come from the structure tensor (J. Shi, C. Tomasi, "Good features to track",
// CVPR 1994). They are searched by zero-mean normalised cross-correlation at half the
// size, and refined by the inverse compositional form of Lucas–Kanade with gain and offset
// projected out (S. Baker, I. Matthews, "Lucas–Kanade 20 years on", IJCV 56(3), 2004; from
// memory). The fit uses Tukey's biweight.
package coarse
