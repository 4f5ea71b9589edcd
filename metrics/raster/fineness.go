package raster

import "nightpair/metrics/stat"

// A blur widens edges. What the difference between neighbours is of that between places
// finenessStep apart tells so of a whole picture, whatever its contrast and wherever things
// stand in it: both eyes show nearly the same, and where one is far softer, its picture
// differs in this. The other picture is then blurred for finding places in both, until
// they are alike.
const (
	finenessStep = 4
	// minEqualBlur and maxEqualBlur are the blurs, in pixels of the quarter raster, from which
	// on the eyes are made alike, and which may be. What covers a third of one eye's
	// picture may look like 0.7.
	minEqualBlur = 0.75
	maxEqualBlur = 4.0
)

// fineness returns the mean square of the differences between neighbours down a
// picture, as a share of that between places finenessStep apart: 1/finenessStep² where all is
// smooth to 1/finenessStep where edges are sharp, and 0 where nothing differs. It looks
// where that is more than usual.
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

// SofterThan returns by how many of its pixels one raster is softer than another, as
// the whole of them looks; negative where the other is, and 0 below minEqualBlur.
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
