package metrics

// MovedSince returns how far the pictures of the pair have moved since an earlier
// or later one of the same clip.
func (p *Pair) MovedSince(other *Pair) Moved {
	return Moved{Left: shiftOf(other.left(), p.left()), Right: shiftOf(other.right(), p.right())}
}
