package metrics

import "nightpair/metrics/geometry"

// MovedSince returns how far the pictures of the pair have moved since an earlier
// or later one of the same clip.
func (p *Pair) MovedSince(other *Pair) geometry.Moved {
	return geometry.Moved{Left: geometry.MeasureShift(other.left(), p.left()), Right: geometry.MeasureShift(other.right(), p.right())}
}
