package metrics

// PairOf returns a pair whose matches are given instead of found.
func PairOf(left, right *Frame, matches []Match) *Pair {
	return &Pair{Left: left, Right: right, matching: &matching{matches: matches}}
}
