package focus

import (
	"math"
	"slices"

	"nightpair/metrics/stat"
)

// Part says which part of the scene is looked at.
type Part uint8

const (
	Everywhere Part = iota
	NearThird
	FarThird
)

const (
	minPatches = 10 // patches, and
	softParts  = 3  // parts of the picture, to tell a blur and its error
	// depthApart is the least difference of parallax, as a share of the width,
	// between what is called near and far.
	depthApart = 0.003
	// softFloor is the blur in pixels of the pictures below which eyes are alike:
	// surfaces at a slant are drawn out in one of them, and compression takes detail
	// from both as it pleases. softShare is the part of a blur that stays uncertain.
	// Measured on drawn scenes.
	softFloor = 0.13
	softShare = 0.01
	// pixelBlur is what lens and sensor spread at least, in px², whatever the picture
	// shows: a box of one pixel and half a pixel of blur.
	pixelBlur = 1.0/12 + 1.0/8
	// softUnknown is the largest standard error that still says something, in
	// 1920-wide pixels, where softFloor is not more.
	softUnknown = 0.3
)

const noDetail = "too little detail to tell blur from noise"

// Softer measures the blur of the right eye against the left by the detail that both
// eyes show.
func (d *Detail) Softer(which Part) stat.Measurement {
	if d.reason != "" {
		return stat.Missing(d.reason)
	}
	blur, variance := d.blur, d.variance
	if which != Everywhere {
		patches, reason := d.third(which, depthApart*float64(d.of.Quarter.Width))
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
	floor := softFloor * 1920 / float64(d.of.Left.Width())
	doubt := math.Sqrt(variance*unit*unit + stat.Sq(floor*floor) + stat.Sq(2*softShare*blur) + stat.Sq(d.unzoomed(0)*unit))
	value, se := signedRoot(blur, doubt)
	if !(se <= max(softUnknown, floor, math.Abs(value)/5)) {
		return stat.Missing(noDetail)
	}
	return stat.Measured(value, se)
}

// unzoomed returns the blur in the pixels of the pictures as they are from one in
// which the right picture has been made as large as the left. That makes smaller what
// lens and sensor spread as well.
func (d *Detail) unzoomed(blur float64) float64 {
	size := stat.Sq(1 + d.zoom)
	own := pixelBlur / stat.Sq(float64(d.bin))
	if blur > 0 {
		return (blur+own)*size - own
	}
	return blur + own*(size-1)
}

// third returns the patches of the nearest or farthest third, in the order they were
// found in, when the two lie so many quarter pixels apart.
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

// signedRoot returns the sigma that a difference of squares of standard error s
// stands for. The root is so steep at 0 that noise alone would look like a blur: so
// all sigmas are taken for equally likely at first, and the mean and the standard
// deviation of those that remain are returned.
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
