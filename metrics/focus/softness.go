package focus

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// Part selects patches by their depth.
type Part uint8

const (
	Everywhere Part = iota // all patches
	NearThird              // the third with the most negative parallax
	FarThird               // the third with the most positive parallax
)

const (
	minPatches = 10 // a blur and its standard error rest on so many patches,
	minTiles   = 3  // in so many tiles of the picture
	// minDepthRange is the least difference of the median parallax of the near and the
	// far third, as a share of the picture width.
	minDepthRange = 0.003
	// blurFloor, in pixels of the pictures as they are, is the blur that equally sharp
	// eyes may show, because slanting surfaces are stretched in one of them and
	// compression takes different detail from each. blurShare is the relative standard
	// error of a large blur. Both were measured on drawn scenes.
	blurFloor = 0.13
	blurShare = 0.01
	// pixelBlur is the blur of a sensor with its optical low-pass filter, in px²: the
	// variance of a box of one pixel, seen three times half a pixel apart with weights
	// 1, 2 and 1. The project's own choice; drawn scenes have the same.
	pixelBlur = 1.0/12 + 1.0/8
	// maxBlurSE is the largest standard error worth reporting, in pixels of a picture
	// 1920 wide, where blurFloor is not more.
	maxBlurSE = 0.3
)

const noDetail = "too little detail to tell blur from noise"

// Softer measures the blur of the right eye against the left by the detail that both eyes
// show in one part of the scene: the sigma in pixels of a picture 1920 wide of the Gaussian
// that would make them equally sharp, positive where the right eye is softer. It is missing
// with too few textured patches, with noise in all of them, and for a third where all is at
// nearly one depth.
func (d *Detail) Softer(which Part) stat.Measurement {
	if d.reason != "" {
		return stat.Missing(d.reason)
	}
	blur, variance := d.blur, d.variance
	if which != Everywhere {
		patches, reason := d.third(which, minDepthRange*float64(d.in.Quarter.Width))
		if reason != "" {
			return stat.Missing(reason)
		}
		var ok bool
		if _, blur, variance, ok = d.measure(patches, d.blur); !ok {
			return stat.Missing(noDetail)
		}
	}
	unit := d.unit()
	blur = d.unzoomed(blur) * unit
	floor := blurFloor * 1920 / float64(d.in.Left.Width())
	doubt := math.Sqrt(variance*unit*unit + stat.Sq(floor*floor) + stat.Sq(2*blurShare*blur) + stat.Sq(d.unzoomed(0)*unit))
	value, se := signedRoot(blur, doubt)
	if !(se <= max(maxBlurSE, floor, math.Abs(value)/5)) {
		return stat.Missing(noDetail)
	}
	return stat.Measured(value, se)
}

// unzoomed converts a blur in bins² between the left and a resampled right picture to
// that between the pictures as they are: resampling scales what the right lens and sensor
// blur, too.
func (d *Detail) unzoomed(blur float64) float64 {
	size := stat.Sq(1 + d.zoom)
	own := pixelBlur / stat.Sq(float64(d.bin))
	if blur > 0 {
		return (blur+own)*size - own
	}
	return blur + own*(size-1)
}

// third returns the patches of the nearest or farthest third by ascending parallax, or
// the reason why there are none: too few, or the medians of both thirds are less than so
// many pixels of the quarter raster apart.
func (d *Detail) third(which Part, apart float64) (patches []int, reason string) {
	order := make([]int, len(d.patches))
	for i := range order {
		order[i] = i
	}
	parallax := func(i int) float64 { return d.patches[order[i]].parallax }
	slices.SortStableFunc(order, func(i, j int) int {
		switch a, b := d.patches[i].parallax, d.patches[j].parallax; {
		case a < b:
			return -1
		case a > b:
			return 1
		}
		return 0
	})
	n := len(order) / 3
	if n < minPatches {
		return nil, "too few textured places near and far"
	}
	if parallax(len(order)-1-n/2)-parallax(n/2) < apart {
		return nil, "all is at nearly one depth"
	}
	if which == NearThird {
		return order[:n], ""
	}
	return order[len(order)-n:], ""
}

// signedRoot returns the signed sigma whose square, with its sign, was measured as square
// with standard error s: the mean and the standard deviation of the posterior under a flat
// prior on sigma. A plain root is so steep at 0 that noise alone would look like a blur.
func signedRoot(square, s float64) (sigma, deviation float64) {
	root := func(x float64) float64 { return math.Copysign(math.Sqrt(math.Abs(x)), x) }
	const steps, reach = 256, 6
	from, to := root(square-reach*s), root(square+reach*s)
	var n, sum, squares float64
	for i := range steps {
		at := from + (to-from)*(float64(i)+0.5)/steps
		w := math.Exp(-stat.Sq((at*math.Abs(at)-square)/s) / 2)
		n, sum, squares = n+w, sum+w*at, squares+w*at*at
	}
	sigma = sum / n
	return sigma, math.Sqrt(max(squares/n-sigma*sigma, 0))
}
