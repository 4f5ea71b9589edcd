package stat

// ParabolaPeak returns where the parabola through three values one step apart, of
// which the middle one is the largest, has its peak: −½ to ½ steps from the middle
// one. It is 0 where the values do not curve downwards.
func ParabolaPeak(before, at, after float64) float64 {
	curve := 2*at - before - after
	if curve <= 0 {
		return 0
	}
	return max(-0.5, min((after-before)/(2*curve), 0.5))
}
