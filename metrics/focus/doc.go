// Package focus measures how sharp a picture is by its power spectrum: the right eye's
// against the left's, or what is far against what is near within one eye.
//
// # Model
//
// A Gaussian of σ pixels leaves exp(−4π²σ²f²) of the power at the spatial frequency f
// in cycles per pixel (the Fourier transform of a Gaussian). The slope of ln(P′/P)
// against f², P and P′ being the power spectra of the same patch in the left and in the
// right eye, is therefore −4π²(σ′² − σ²), whatever the contrast of the scene, the
// exposure, and the blur that both lenses share. What can be seen is the difference of
// the squares: inside this package "blur" is σ′² − σ², in squares of bins, positive
// where the right eye is softer. [Detail.Softer] returns its signed root in pixels of a
// picture 1920 wide. The root is so steep at zero that an error of 0.0025 px² would pass
// for 0.05 px of blur; so the result is the posterior mean of σ under a flat prior on σ
// given the measured difference, and its standard error the posterior deviation.
//
// # Steps
//
//  1. findDetail picks patches of 64 by 32 pixels (of a picture 1080 high) that both
//     eyes show at nearly one depth, the most textured one of each part of the picture.
//     A wide blur leaves only coarse detail: the picture is then binned, two by two or
//     four by four.
//  2. luminance and patchReader read a patch in linear light, because a lens spreads light
//     and not signals. A right eye that is turned or enlarged is resampled first, by a
//     filter that keeps the power (aligner).
//  3. transform gives the power spectra of both eyes behind a Hann window, by rings of
//     spatial frequency. Frequencies flatter than 45° are left out: parallax stretches
//     the texture of slanting surfaces across.
//  4. measureCoherence compares how the power goes up and down within a ring: the
//     same way in both eyes where it is texture, independently where it is noise or what
//     a codec made. That says up to which frequency the eyes show the same, and how much noise
//     there is, in compressed footage too.
//  5. roughBlur fits the slope to all patches together, and the sharper eye's picture is
//     blurred by that much. Where both spectra are the same, what the window leaks, the
//     slant of surfaces and the shape of the texture do to them is the same too and
//     drops out.
//  6. fitPatches finds what remains of the blur, together with the noise of both eyes,
//     by least squares over all patches with Tukey's biweight. Its standard error sums
//     over tiles of the picture, because neighbouring patches share their errors.
//
// [Detail.LensFocus] compares far with near patches of one eye in the same way. A lens
// blurs what is seen at parallax P by σ = k·|P − P₀|, P₀ being the parallax of what is
// in focus. So σ² of what is far less σ² of what is near is linear in P₀, and over a
// focus pull the figure of one eye is that of the other, delayed by the lag and scaled
// by the travel of the lens. Texture adds the same to both.
//
// # Limits
//
// Measured on drawn scenes of 1920×1080 with the eyes in line: the figure of the whole
// picture is off by at most 0.06 px without noise, 0.08 px with noise, and 0.13 px with
// noise and JPEG at blurs below 0.5 px. That of a third of the depths is off by 0.02 px
// where both eyes are clean and equally sharp, and by up to 0.31 px with noise at blurs
// below 0.5 px. Pictures 960 wide show blurs of 0.2 px (of 1920) as next to none, and
// those below 1 px to within 0.2 px as a whole and 0.6 px by depth, with noise or JPEG.
// Aliasing depends on where pixels fall, so eyes that are out of line by fractions of a
// pixel may show up to 0.15 px that are not there, at depths with few edges. A codec
// blurs the eye to which it gives fewer bits; that is measured like any other blur.
//
// From about 6 px on the eyes' pictures are too different to be matched, and from 12 px
// on a patch holds too little detail. Package metrics then equalises both eyes before it
// looks for matches and takes the blur from that (raster.Raster.SofterThan).
//
// The method is the project's own. Power spectra of patches behind a Hann window follow
// P. Welch, IEEE Transactions on Audio and Electroacoustics 15(2), 1967 (from memory).
package focus
