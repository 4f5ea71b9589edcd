package stat

// Vertex returns where, between −½ and ½, the parabola through three values
// around their largest one is highest.
func Vertex(before, at, after float64) float64 {
	curve := 2*at - before - after
	if curve <= 0 {
		return 0
	}
	return max(-0.5, min((after-before)/(2*curve), 0.5))
}
