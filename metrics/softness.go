package metrics

import (
	"math"
	"slices"
)

var softness = Metric{
	Name: "softness", Unit: "px of Gaussian blur, in 1920-wide pixels", Decimals: 2,
	Doc:   "Blur of the right eye's picture beyond the left's: the sigma of the Gaussian that would make them alike, from how fast detail fades in what both eyes show, or far out of focus from how wide edges are. Positive: the right eye is softer.",
	Ideal: 0, Swap: SwapNegate, Conditional: true, Revision: 5,
	Measure: func(p *Pair) Measurement { return p.softer(everywhere) },
}

var softnessNear = Metric{
	Name: "softness_near", Unit: softness.Unit, Decimals: 2,
	Doc:   "Softness of the nearest third of what both eyes show. Where it differs from softness_far the lenses are focused at different distances; where both are alike one lens is soft.",
	Ideal: 0, Swap: SwapPartner, Partner: "softness_far", Conditional: true, Revision: 5,
	Measure: func(p *Pair) Measurement { return p.softer(nearThird) },
}

var softnessFar = Metric{
	Name: "softness_far", Unit: softness.Unit, Decimals: 2,
	Doc:   "Softness of the farthest third of what both eyes show; see softness_near.",
	Ideal: 0, Swap: SwapPartner, Partner: "softness_near", Conditional: true, Revision: 5,
	Measure: func(p *Pair) Measurement { return p.softer(farThird) },
}

// A Gaussian of sigma pixels leaves exp(−4π²σ²f²) of the power at f cycles per
// pixel. So what can be seen is by how much the squares of the two eyes' blurs
// differ, whatever lens and texture have in common, from the ratio of the powers of
// what both show: blur stands in px² in this and the following files, and is positive
// where the right eye is softer.
//
// Spectra are compared where they are nearly the same: the sharper eye's picture is
// blurred until they are. What windows, slants and edges do to a spectrum is then the
// same in both eyes, and so is much of what is not known of the noise.

// depths says which part of the scene is looked at.
type depths uint8

const (
	everywhere depths = iota
	nearThird
	farThird
)

const (
	softLeast = 10 // patches, and
	softParts = 3  // parts of the picture, to tell a blur and its error
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

// softer measures the blur of the right eye against the left.
func (p *Pair) softer(which depths) Measurement {
	m := p.finelySofter(which)
	if !m.OK() && which == everywhere {
		return p.coarselySofter(m.Missing)
	}
	return m
}

// finelySofter measures it by the detail that both eyes show.
func (p *Pair) finelySofter(which depths) Measurement {
	d := p.softDetail()
	if d.reason != "" {
		return Missing(d.reason)
	}
	blur, variance := d.blur, d.variance
	if which != everywhere {
		patches, reason := d.third(which, depthApart*float64(p.left().quarter.width))
		if reason != "" {
			return Missing(reason)
		}
		var ok bool
		if _, blur, variance, ok = d.measure(patches, d.blur, p); !ok {
			return Missing(noDetail)
		}
	}
	unit := d.unit(p)
	blur = d.unzoomed(blur) * unit
	floor := softFloor * 1920 / float64(p.Left.Width())
	doubt := math.Sqrt(variance*unit*unit + sq(floor*floor) + sq(2*softShare*blur) + sq(d.unzoomed(0)*unit))
	value, se := signedRoot(blur, doubt)
	if !(se <= max(softUnknown, floor, math.Abs(value)/5)) {
		return Missing(noDetail)
	}
	return Measured(value, se)
}

// unzoomed returns the blur in the pixels of the pictures as they are from one in
// which the right picture has been made as large as the left. That makes smaller what
// lens and sensor spread as well.
func (d *detail) unzoomed(blur float64) float64 {
	size := sq(1 + d.zoom)
	own := pixelBlur / sq(float64(d.bin))
	if blur > 0 {
		return (blur+own)*size - own
	}
	return blur + own*(size-1)
}

// third returns the patches of the nearest or farthest third, in the order they were
// found in, when the two lie so many quarter pixels apart.
func (d *detail) third(which depths, apart float64) (patches []int, reason string) {
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
	if n < softLeast {
		return nil, "too few textured places near and far"
	}
	if parallax(len(order)-1-n/2)-parallax(n/2) < apart {
		return nil, "all is at nearly one depth"
	}
	if which == nearThird {
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
		w := math.Exp(-sq((at*math.Abs(at)-square)/s) / 2)
		n, sum, squares = n+w, sum+w*at, squares+w*at*at
	}
	sigma = sum / n
	return sigma, math.Sqrt(max(squares/n-sigma*sigma, 0))
}
