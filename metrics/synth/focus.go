package synth

import (
	"math"
	"slices"
)

// Lens is what is in front of a camera's sensor. The zero value is a pinhole,
// which shows everything sharp.
type Lens struct {
	Focus    float64 // metres away from the camera, along its axis
	Aperture float64 // metres, the width of the opening
}

// blur returns the standard deviation in pixels, across and down, of the disc
// into which the lens spreads a point at a distance along the axis: the width of
// the disc is aperture·focal·|1/distance − 1/focus|, by similar triangles in
// front of the lens, and its deviation a quarter of that. What is farther away
// than the focus gets a negative sign.
func (l Lens) blur(distance, focal float64) float64 {
	return l.Aperture * focal * (1/distance - 1/l.Focus) / 4
}

// defocusSteps is the resolution of the blur: in steps of this part of the
// root of a pixel, so that each is some tenths of the blur itself.
const defocusSteps = 4

// defocusLevel returns the number of the step nearest to a blur, which keeps its
// sign, and defocusOf the blur of a step.
func defocusLevel(blur float64) int {
	return int(math.Copysign(math.Round(defocusSteps*math.Sqrt(math.Abs(blur))), blur))
}

func defocusOf(level int) float64 {
	root := float64(level) / defocusSteps
	return root * root
}

// defocus blurs every pixel as its distance from the focus wants it, by
// Gaussians as wide as the discs. Whatever is nearer covers what is farther, from
// back to front; where that ends, what it hides is guessed from what is beside it.
func (p *linearPicture) defocus(blur []float64) {
	type rows struct{ first, last int }
	layers := map[int]rows{}
	at := make([]int, len(blur))
	var order []int
	for i, b := range blur {
		k, y := defocusLevel(b), i/p.width
		at[i] = k
		l, known := layers[k]
		if !known {
			order = append(order, k)
			l.first = y
		}
		l.last = y
		layers[k] = l
	}
	slices.Sort(order) // the farthest first

	out := newPicture(p.width, p.height)
	cover := make([]float32, len(blur))
	for _, k := range order {
		sigma := defocusOf(k)
		reach := int(math.Ceil(4 * sigma))
		first, last := max(layers[k].first-reach, 0), min(layers[k].last+reach, p.height-1)
		layer, mask := newPicture(p.width, last-first+1), newPicture(p.width, last-first+1)
		base := first * p.width
		for i := range p.width * layer.height {
			if at[base+i] == k {
				copy(layer.pix[3*i:3*i+3], p.pix[3*(base+i):])
				mask.pix[3*i] = 1
			}
		}
		layer.blur(sigma)
		mask.blur(sigma)
		for i := range p.width * layer.height {
			m := mask.pix[3*i]
			for c := range 3 {
				v := &out.pix[3*(base+i)+c]
				*v = *v*(1-m) + layer.pix[3*i+c]
			}
			cover[base+i] = cover[base+i]*(1-m) + m
		}
	}
	for i, c := range cover {
		if c > 0 {
			for k := range 3 {
				p.pix[3*i+k] = out.pix[3*i+k] / c
			}
		}
	}
}
