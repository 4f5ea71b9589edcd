package raster

import "nightpair/metrics/stat"

const (
	// finenessStep is how far apart, in pixels, the places are whose differences are
	// compared with those of neighbours.
	finenessStep = 4
	// minEqualBlur is the smallest difference of blur, in pixels, that is acted on: where one
	// eye's picture is covered to a third, it may look like 0.7. maxEqualBlur is the largest.
	minEqualBlur = 0.75
	maxEqualBlur = 4.0
)

// fineness returns the mean square of the differences between vertical neighbours over that
// between places finenessStep apart: from 1/finenessStep² in a smooth picture to
// 1/finenessStep for sharp edges; 0 where nothing differs. Only places count where the
// latter is above its mean. The ratio depends neither on contrast nor on where things
// stand in the picture, so it can be compared between eyes that do not match.
func (r *Raster) fineness() float64 {
	if r.Height <= finenessStep {
		return 0
	}
	far := r.Width * finenessStep
	mean := 0.0
	for i, v := range r.Pix[far:] {
		mean += stat.Sq(float64(v - r.Pix[i]))
	}
	mean /= float64(len(r.Pix) - far)
	var near, all float64
	for i, v := range r.Pix[far:] {
		d := stat.Sq(float64(v - r.Pix[i]))
		if d <= mean {
			continue
		}
		all += d
		for k := range finenessStep {
			at := i + k*r.Width
			near += stat.Sq(float64(r.Pix[at+r.Width] - r.Pix[at]))
		}
	}
	if all == 0 {
		return 0
	}
	return near / finenessStep / all
}

// SofterThan returns by how much more r is blurred than the other raster: the sigma, in
// pixels, of the Gaussian blur that gives the sharper one the fineness of the other.
// Positive: r is softer. 0 below minEqualBlur or where a picture shows nothing; at most
// maxEqualBlur.
func (r *Raster) SofterThan(other *Raster) float64 {
	a, b := r.fineness(), other.fineness()
	if !(a > 0 && b > 0) {
		return 0
	}
	if a > b {
		return -other.SofterThan(r)
	}
	if other.Blurred(minEqualBlur).fineness() <= a {
		return 0
	}
	low, high := 0.0, maxEqualBlur
	for range 8 {
		sigma := (low + high) / 2
		if other.Blurred(sigma).fineness() > a {
			low = sigma
		} else {
			high = sigma
		}
	}
	return (low + high) / 2
}
