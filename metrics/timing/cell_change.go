package timing

import (
	"math"

	"nightpair/metrics/picture"
)

// cellChange is the signed change of each cell of a signature, smoothed over about as much as
// parallax may shift it. Changes of consecutive frames add up.
type cellChange [picture.SignatureHeight][picture.SignatureWidth]float32

// cellChanges returns the change to each signature from the one before, nil where one is
// missing.
func cellChanges(list []*picture.Signature) []*cellChange {
	out := make([]*cellChange, len(list))
	for t := 1; t < len(list); t++ {
		if list[t-1] == nil || list[t] == nil {
			continue
		}
		d := &cellChange{}
		for j := range d {
			for i := range d[j] {
				d[j][i] = list[t].Luma[j][i] - list[t-1].Luma[j][i]
			}
		}
		d.smooth()
		d.smooth()
		out[t] = d
	}
	return out
}

// smooth filters by the binomial kernel 1 2 1 across and down; the border repeats.
func (d *cellChange) smooth() {
	from := *d
	at := func(j, i int) float32 {
		return from[min(max(j, 0), picture.SignatureHeight-1)][min(max(i, 0), picture.SignatureWidth-1)]
	}
	for j := range d {
		for i := range d[j] {
			d[j][i] = (4*at(j, i) + 2*(at(j-1, i)+at(j+1, i)+at(j, i-1)+at(j, i+1)) +
				at(j-1, i-1) + at(j-1, i+1) + at(j+1, i-1) + at(j+1, i+1)) / 16
		}
	}
}

// changeOver returns the change over n frames from t on, or false where one is missing.
func changeOver(list []*cellChange, t, n int) (sum cellChange, ok bool) {
	if t < 0 || t+n > len(list) {
		return sum, false
	}
	for _, d := range list[t:][:n] {
		if d == nil {
			return sum, false
		}
		for j := range sum {
			for i, v := range d[j] {
				sum[j][i] += v
			}
		}
	}
	return sum, true
}

// unexplained returns the share of a change, 0 to 1, that another one times a gain and
// slightly shifted does not explain; 1 where nothing changes.
func (d *cellChange) unexplained(other *cellChange, gain float64) float64 {
	var total, left, xx, xy, yy, xd, yd float64
	for j := 1; j < picture.SignatureHeight-1; j++ {
		for i := 1; i < picture.SignatureWidth-1; i++ {
			x := float64(other[j][i+1] - other[j][i-1])
			y := float64(other[j+1][i] - other[j-1][i])
			v := float64(d[j][i])
			e := v - gain*float64(other[j][i])
			total += v * v
			left += e * e
			xx += x * x
			xy += x * y
			yy += y * y
			xd += x * e
			yd += y * e
		}
	}
	if det := xx*yy - xy*xy; det > 0 {
		left -= (xd*xd*yy - 2*xd*yd*xy + yd*yd*xx) / det
	}
	if total == 0 {
		return 1
	}
	return min(max(left/total, 0), 1)
}

// squares returns the sum of the squares of a change.
func (d *cellChange) squares() (sum float64) {
	for j := range d {
		for _, v := range d[j] {
			sum += float64(v * v)
		}
	}
	return sum
}

// size returns the root mean square of a change, in 8-bit code values.
func (d *cellChange) size() float64 {
	return math.Sqrt(d.squares() / (picture.SignatureWidth * picture.SignatureHeight))
}
