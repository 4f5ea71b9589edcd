package stat

// Solve2 solves the two equations a·x + b·y = p and c·x + d·y = q by Cramer's rule.
// Det is their determinant; where it is 0, x and y are not finite.
func Solve2(a, b, p, c, d, q float64) (x, y, det float64) {
	det = a*d - b*c
	return (p*d - b*q) / det, (a*q - p*c) / det, det
}
